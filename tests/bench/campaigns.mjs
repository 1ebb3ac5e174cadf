import {
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { median, python, timed } from "./timed.mjs";

/**
 * A campaign judged for the first time, again, and with one run more, against the lab script (one process a bag) and against an
 * older build where COUNTERPOISE_BENCH_OLD names one (its counterpoise.mjs). Processes alternate within each round; beside wall
 * seconds stand processor seconds, which a busy machine moves less, and ratios are of these.
 */
const root = resolve(import.meta.dirname, "../..");
const program = join(root, "dist/counterpoise.mjs");
const bags = 12;
const rounds = Number(process.env.COUNTERPOISE_BENCH_ROUNDS ?? 3);

export function campaignCases() {
  const folder = process.env.COUNTERPOISE_BENCH ?? "";
  if (!existsSync(join(folder, "peer.py"))) {
    console.log("campaigns: left out for want of COUNTERPOISE_BENCH, the folder of baselines");
    return;
  }
  const work = mkdtempSync(join(tmpdir(), "counterpoise-campaigns-"));
  try {
    for (let k = 1; k <= bags; k++) bag(folder, work, k);
    rows(folder, work);
    scale(work);
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

/** One bag of 90 s, made or, where COUNTERPOISE_BENCH_BAGS has it, linked. */
function bag(folder, work, k) {
  const place = join(work, `${k}.bag`);
  const ready = join(process.env.COUNTERPOISE_BENCH_BAGS ?? "", `campaign-${k}.bag`);
  if (existsSync(ready)) symlinkSync(resolve(ready), place);
  else
    timed([python, join(folder, "make_bags.py"), place, "--seconds", "90", "--compression", "lz4", "--seed", `${k}`]);
}

/** A manifest of so many runs; beyond the bags there are, they begin again. */
function manifestOf(work, runs) {
  const text = readFileSync(join(root, "tests/bench/campaign.yaml"), "utf8");
  const place = join(work, `${runs}.yaml`);
  const list = Array.from({ length: runs }, (_, k) => {
    const configuration = k % 2 === 0 ? "plain" : "other";
    return `  - { id: r${k}, log: ${(k % bags) + 1}.bag, configuration: ${configuration}, trajectory: flown }`;
  });
  const named = text.replace("candidate: other", "candidate: other\nsmallest_difference: 1 mm");
  writeFileSync(place, named.replace(/^runs:[\s\S]*/m, `runs:\n${list.join("\n")}\n`));
  return place;
}

function evaluation(of, manifest, ...options) {
  return timed([process.execPath, of, "evaluate", manifest, "--quiet", "--out", `${manifest}.json`, ...options]);
}

function rows(folder, work) {
  const old = process.env.COUNTERPOISE_BENCH_OLD ?? null;
  const manifest = manifestOf(work, bags);
  const taken = { script: [], old: [], first: [], again: [], added: [] };
  for (let round = 0; round < rounds; round++) {
    const cache = ["--cache", join(work, `kept-${round}`)];
    const script = Array.from({ length: bags }, (_, k) =>
      timed([python, join(folder, "peer.py"), join(work, `${k + 1}.bag`)]),
    );
    taken.script.push({
      seconds: sum(script.map(({ seconds }) => seconds)),
      processor: sum(script.map(({ processor }) => processor)),
      mebibytes: Math.max(...script.map(({ mebibytes }) => mebibytes)),
    });
    if (old !== null) taken.old.push(evaluation(old, manifest));
    taken.first.push(evaluation(program, manifest, ...cache));
    taken.again.push(evaluation(program, manifest, ...cache));
    // all but one were measured under another manifest of the same folder
    const fewer = ["--cache", join(work, `fewer-${round}`)];
    writeFileSync(manifest, readFileSync(manifestOf(work, bags - 1)));
    evaluation(program, manifest, ...fewer);
    manifestOf(work, bags);
    taken.added.push(evaluation(program, manifest, ...fewer));
  }
  const script = median(taken.script.map(({ processor }) => processor));
  console.log(`\n${bags} bags of 90 s, lz4        wall s   processor s     MiB   script / it   wanted`);
  const row = (name, figures, wanted) => {
    if (figures.length === 0) return;
    const [wall, processor] = ["seconds", "processor"].map((of) => median(figures.map((one) => one[of])));
    const memory = Math.max(...figures.map(({ mebibytes }) => mebibytes));
    const ratio = `${(script / processor).toFixed(1)} x`;
    console.log(
      `${name.padEnd(24)} ${wall.toFixed(2).padStart(7)} ${processor.toFixed(2).padStart(13)} ${memory.toFixed(0).padStart(7)} ${ratio.padStart(13)}   ${wanted}`,
    );
  };
  row("lab script", taken.script, "");
  row("older build", taken.old, "");
  row("first time", taken.first, "10 x");
  row("again, nothing changed", taken.again, "60 x");
  row("one run added", taken.added, "18 x");
}

/** How time, memory and what is kept grow with the runs. */
function scale(work) {
  console.log("\nruns   first: wall s   processor s     MiB   again: wall s   processor s   kept MB");
  for (const runs of [10, 100]) {
    const manifest = manifestOf(work, runs);
    const kept = join(work, `scale-${runs}`);
    const [first, again] = [0, 1].map(() => evaluation(program, manifest, "--cache", kept));
    const bytes = sum(readdirSync(kept).map((name) => statSync(join(kept, name)).size));
    const cells = [
      [first.seconds, 15],
      [first.processor, 14],
      [first.mebibytes, 8, 0],
      [again.seconds, 16],
      [again.processor, 14],
      [bytes / 1e6, 10],
    ];
    console.log(
      `${String(runs).padStart(4)}${cells.map(([value, width, digits = 2]) => value.toFixed(digits).padStart(width)).join("")}`,
    );
  }
}

const sum = (values) => values.reduce((total, value) => total + value, 0);
