import { spawn } from "node:child_process";
import { mkdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { rolldown } from "rolldown";
import type { Verdict } from "./judge.ts";
import type { Seed } from "./seeds.ts";

export interface Job {
  readonly seed: Omit<Seed, "bytes"> & { readonly path: string };
  /** for mutants, and nothing else */
  readonly folder: string;
  /** numbers of the first mutant and of the one after the last */
  readonly from: number;
  readonly to: number;
  /** 0: mutants by number; else each n-th of those that have an extreme number at every place */
  readonly every: number;
  readonly verbose?: boolean;
}

/** What the child writes: of the seed; of a mutant before, and after. */
export type Line =
  | { readonly rows: number; readonly said: string }
  | { readonly begun: number; readonly deed: string }
  | {
      readonly done: number;
      readonly verdict: Verdict;
      readonly why: string;
      /** of processor time */
      readonly seconds: number;
      /** the most that was resident so far */
      readonly mebibytes: number;
    };

export interface Outcome {
  readonly rows: number;
  readonly counts: Readonly<Record<Verdict | "hung", number>>;
  /** mutants that broke a promise, in words */
  readonly faults: readonly string[];
  readonly slowest: number;
  readonly mebibytes: number;
}

const root = resolve(import.meta.dirname, "../..");
/** No mutant of a small log may take longer, seconds of processor time, or more memory, mebibytes. */
export const longest = 2;
/** Silence of the child, seconds of a busy machine, after which it is ended. */
const hangs = 120;
export const largest = 512;

/** The child as one file, in a folder below node_modules so that it finds its packages. */
export async function buildChild(folder: string): Promise<string> {
  const bundle = await rolldown({
    input: join(root, "tests/fuzz/child.ts"),
    cwd: root,
    platform: "node",
    external: /^[^./]/,
  });
  const file = join(folder, "child.mjs");
  await bundle.write({ file, format: "esm", sourcemap: false, codeSplitting: false });
  await bundle.close();
  return file;
}

/** Works through mutants of a seed in a process of its own, and goes on in another where one ends or hangs. */
export async function runMutants(
  child: string,
  seed: Seed,
  { from = 0, to = 0, every = 0 },
  folder: string,
): Promise<Outcome> {
  const own = join(folder, seed.name.replaceAll(/\W+/g, "-"));
  mkdirSync(own, { recursive: true });
  const path = join(own, "seed.log");
  writeFileSync(path, seed.bytes);
  const counts = { same: 0, refused: 0, reported: 0, stands: 0, silent: 0, crash: 0, hung: 0 };
  const faults: string[] = [];
  let [rows, slowest, mebibytes] = [0, 0, 0];
  let next: number | null = from;
  while (next !== null) {
    let begun: { number: number; deed: string } | null = null;
    const { bytes: _, ...facts } = seed;
    const jobFile = join(own, "job.json");
    const job: Job = { seed: { ...facts, path }, folder: own, from: next, to, every };
    writeFileSync(jobFile, JSON.stringify(job));
    const ended = await eachLine(child, jobFile, (line) => {
      if ("rows" in line) rows = line.rows;
      else if ("begun" in line) begun = { number: line.begun, deed: line.deed };
      else {
        counts[line.verdict]++;
        const told = (what: string): void =>
          void faults.push(`${seed.name}, mutant ${line.done}, ${begun?.deed}: ${what}`);
        if (line.verdict === "silent" || line.verdict === "crash") told(`${line.verdict}: ${line.why}`);
        if (line.seconds > longest) told(`took ${line.seconds.toFixed(1)} s of processor time`);
        if (line.mebibytes > largest && mebibytes <= largest) told(`took ${line.mebibytes.toFixed(0)} MiB`);
        slowest = Math.max(slowest, line.seconds);
        mebibytes = Math.max(mebibytes, line.mebibytes);
        begun = null;
      }
    });
    const open = begun as { number: number; deed: string } | null;
    if (ended === null) next = null;
    else if (open === null) throw new Error(`${seed.name}: ${ended}`);
    else {
      counts.hung++;
      faults.push(`${seed.name}, mutant ${open.number}, ${open.deed}: ${ended}`);
      next = open.number + 1;
    }
  }
  return { rows, counts, faults, slowest, mebibytes };
}

/** @returns null where the child came to its end by itself, else how it ended */
function eachLine(child: string, jobFile: string, take: (line: Line) => void): Promise<string | null> {
  return new Promise((done) => {
    const started = spawn(process.execPath, [`--max-old-space-size=${largest}`, child, jobFile], { cwd: root });
    let errors = "";
    let isHung = false;
    // on a busy machine two seconds of work may take many more: the child counts its own
    const watch = setTimeout(() => {
      isHung = true;
      started.kill("SIGKILL");
    }, hangs * 1000);
    started.stderr.on("data", (data) => {
      errors = `${errors}${data}`.slice(-2000);
    });
    createInterface({ input: started.stdout }).on("line", (line) => {
      watch.refresh();
      take(JSON.parse(line) as Line);
    });
    started.on("close", (code, signal) => {
      clearTimeout(watch);
      done(isHung ? `hung for ${hangs} s` : code === 0 ? null : `ended with ${code ?? signal}: ${errors}`);
    });
  });
}
