import { spawn } from "node:child_process";
import {
  appendFileSync,
  cpSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { availableParallelism, tmpdir } from "node:os";
import { dirname, join, relative, resolve } from "node:path";
import { parseArgs } from "node:util";
import { mutantsOf } from "./mutate.mjs";

/**
 * A seeded sample of mutants (`mutate.mjs`) of the rooms that hold numbers, each against the tests of its own room: does what
 * runs hang on what is tested? Prints the score and the survivors; 0 where the lower end of the score's 95 % interval reaches 85 %.
 *
 *   node tests/mutation/run.mjs [--rooms numeric,metrics] [--each 100] [--seed 1] [--workers 2] [--out results.jsonl]
 *
 * `--out` is added to, and what stands in it is not run again. Mutants that change nothing are struck in equivalent.json, by
 * hand and with a reason.
 */
const { values: options } = parseArgs({
  options: {
    rooms: { type: "string", default: "alignment,metrics,comparison,numeric" },
    each: { type: "string", default: "100" },
    seed: { type: "string", default: "1" },
    out: { type: "string" },
    workers: { type: "string", default: String(Math.min(2, availableParallelism())) },
  },
});
const root = resolve(import.meta.dirname, "../..");
const wanted = 0.85;
/** How long tests may take until a mutant counts as going round for ever, ms: three times their room's without one, and a minute. */
let patience = 600_000;
const struck = JSON.parse(readFileSync(join(import.meta.dirname, "equivalent.json"), "utf8"));

const filesBelow = (folder) =>
  readdirSync(join(root, folder), { recursive: true, encoding: "utf8" })
    .filter((name) => name.endsWith(".ts"))
    .map((name) => join(folder, name))
    .sort();

/** 0 to 1; the usual linear congruence of 32 bits (Numerical Recipes). */
function randomFrom(seed) {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(1664525, state) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

function sample(room) {
  const all = filesBelow(`src/${room}`).flatMap((file) =>
    mutantsOf(readFileSync(join(root, file), "utf8")).map((mutant) => ({ room, file, ...mutant })),
  );
  const random = randomFrom(Number(options.seed));
  const drawn = [];
  while (drawn.length < Number(options.each) && all.length > 0)
    drawn.push(...all.splice(Math.floor(random() * all.length), 1));
  return drawn
    .map((mutant, draw) => ({ ...mutant, draw }))
    .filter(({ file, what }) => !struck.some((one) => one.file === file && one.what === what));
}

/** The tests of a room that reach a file by its imports, by how far they stand from it. */
function testsReaching(room, file) {
  return filesBelow(`tests/${room}`)
    .filter((test) => test.endsWith(".test.ts"))
    .map((test) => ({ test, steps: stepsBetween(test, file) }))
    .filter(({ steps }) => Number.isFinite(steps))
    .sort((a, b) => a.steps - b.steps);
}

const known = new Map();
function importsOf(file) {
  if (!known.has(file)) {
    const found = readFileSync(join(root, file), "utf8").matchAll(/from "(\.[^"]+\.ts)"/g);
    known.set(
      file,
      [...found]
        .map(([, name]) => relative(root, resolve(root, dirname(file), name)))
        .filter((name) => existsSync(join(root, name))),
    );
  }
  return known.get(file);
}

function stepsBetween(from, to) {
  const reached = new Set([from]);
  for (let edge = [from], steps = 0; edge.length > 0; steps++) {
    if (edge.includes(to)) return steps;
    edge = [...new Set(edge.flatMap(importsOf))].filter((file) => !reached.has(file));
    for (const file of edge) reached.add(file);
  }
  return Number.POSITIVE_INFINITY;
}

/** @returns whether these tests pass */
function passes(copy, tests) {
  const run = ["--no-install", "vitest", "run", ...tests, "--bail=1", "--maxWorkers=1", "--reporter=dot"];
  return new Promise((done) => {
    const child = spawn("npx", run, { cwd: copy, stdio: "ignore", detached: true });
    const timer = setTimeout(() => process.kill(-child.pid, "SIGKILL"), patience);
    child.on("exit", (code) => {
      clearTimeout(timer);
      done(code === 0);
    });
  });
}

/** The nearest tests first: most mutants fall there. */
async function survives(copy, { room, file, start, end, text }) {
  const source = readFileSync(join(root, file), "utf8");
  const reaching = testsReaching(room, file);
  const nearest = reaching.filter(({ steps }) => steps === reaching[0].steps).map(({ test }) => test);
  const others = reaching.map(({ test }) => test).filter((test) => !nearest.includes(test));
  writeFileSync(join(copy, file), source.slice(0, start) + text + source.slice(end));
  try {
    for (const tests of [nearest, others]) if (tests.length > 0 && !(await passes(copy, tests))) return false;
    return true;
  } finally {
    writeFileSync(join(copy, file), source);
  }
}

function copyOfTree() {
  const copy = mkdtempSync(join(tmpdir(), "counterpoise-mutants-"));
  for (const name of ["src", "client", "tests", "sample-data", "package.json", "tsconfig.json", "vitest.config.ts"])
    cpSync(join(root, name), join(copy, name), { recursive: true });
  symlinkSync(join(root, "node_modules"), join(copy, "node_modules"), "dir");
  return copy;
}

/** E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212. */
function lowerEnd(killed, of) {
  const z = 1.959964;
  const share = killed / of;
  const half = z * Math.sqrt((share * (1 - share)) / of + (z * z) / (4 * of * of));
  return (share + (z * z) / (2 * of) - half) / (1 + (z * z) / of);
}

const keyOf = ({ file, start, text }) => `${file} ${start} ${text}`;
const results = new Map();
if (options.out && existsSync(options.out))
  for (const line of readFileSync(options.out, "utf8").split("\n").filter(Boolean)) {
    const result = JSON.parse(line);
    results.set(keyOf(result), result);
  }
const mutants = options.rooms.split(",").flatMap(sample);
// the rooms in turn, so that what is there of a run that was cut short speaks of all of them
const waiting = mutants.filter((mutant) => !results.has(keyOf(mutant))).sort((a, b) => a.draw - b.draw);
const copies = Array.from({ length: Number(options.workers) }, copyOfTree);
try {
  let longest = 0;
  for (const room of new Set(waiting.map(({ room }) => room))) {
    const began = Date.now();
    if (!(await passes(copies[0], [`tests/${room}/`]))) throw new Error(`the tests of ${room} fail without a mutant`);
    longest = Math.max(longest, Date.now() - began);
  }
  patience = 3 * longest + 60_000;
  await Promise.all(
    copies.map(async (copy) => {
      for (let mutant = waiting.shift(); mutant !== undefined; mutant = waiting.shift()) {
        const result = { ...mutant, survived: await survives(copy, mutant) };
        results.set(keyOf(mutant), result);
        if (options.out) appendFileSync(options.out, `${JSON.stringify(result)}\n`);
      }
    }),
  );
} finally {
  for (const copy of copies) rmSync(copy, { recursive: true, force: true });
}

const judged = mutants.map((mutant) => results.get(keyOf(mutant)));
const survivors = judged.filter(({ survived }) => survived);
for (const { file, line, what } of survivors) console.log(`${file}:${line}  ${what}`);
for (const room of options.rooms.split(",")) {
  const own = judged.filter((result) => result.room === room);
  console.log(`${room}: ${own.filter(({ survived }) => !survived).length} of ${own.length} killed`);
}
const killed = judged.length - survivors.length;
const low = lowerEnd(killed, judged.length);
console.log(`${killed} of ${judged.length} killed; lower end of the 95 % interval ${(100 * low).toFixed(1)} %`);
process.exitCode = low >= wanted ? 0 : 1;
