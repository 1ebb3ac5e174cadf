import { readFileSync, rmSync, writeFileSync, writeSync } from "node:fs";
import { join } from "node:path";
import { judge, readingOf } from "./judge.ts";
import { everyPlace, type Mutant, mutantOf } from "./mutants.ts";
import type { Job, Line } from "./runMutants.ts";

/**
 * A process of its own for what may hang, end or take all memory: works through the mutants of one seed and writes a line for each
 * before and after it.
 */
const job = JSON.parse(readFileSync(process.argv[2]!, "utf8")) as Job;
const seed = { ...job.seed, bytes: readFileSync(job.seed.path) };
const folder = job.folder;
const sound = await readingOf(job.seed.path, seed);
say({ rows: sound.rows.length, said: sound.said });

let last = process.cpuUsage();
for (const [number, mutant] of mutants()) {
  if (number < job.from) continue;
  const path = join(folder, `mutant-${number % 4}.log`);
  writeFileSync(path, mutant.bytes);
  say({ begun: number, deed: mutant.deed });
  const { verdict, why } = await judge(seed, sound, mutant, path);
  rmSync(path);
  const used = process.cpuUsage(last);
  last = process.cpuUsage();
  say({
    done: number,
    verdict,
    // what stands, is the same or is reported well needs no words
    why: verdict === "silent" || verdict === "crash" || job.verbose ? why : "",
    seconds: (used.user + used.system) / 1e6,
    mebibytes: peak(),
  });
}

/** Most memory held so far, MiB. What the system says of a process's usage holds that of the process that started it as well. */
function peak(): number {
  try {
    return Number(/^VmHWM:\s+(\d+) kB$/m.exec(readFileSync("/proc/self/status", "utf8"))![1]) / 1024;
  } catch {
    return process.memoryUsage().rss / 2 ** 20;
  }
}

function* mutants(): Generator<[number, Mutant]> {
  if (job.every === 0) for (let number = job.from; number < job.to; number++) yield [number, mutantOf(seed, number)];
  else {
    let number = 0;
    // a prime stride meets each kind of number at each kind of place
    for (const mutant of everyPlace(seed)) if (number++ % job.every === 0) yield [number - 1, mutant];
  }
}

function say(line: Line): void {
  writeSync(1, `${JSON.stringify(line)}\n`);
}
