/**
 * Speed and memory of whole processes, as ratios against a baseline in the same run. Prints figures; asserts nothing.
 *
 *   npm run bench              all cases
 *   npm run bench -- small     cases whose name contains "small"
 *
 * The baseline is the script a lab member would write (COUNTERPOISE_BENCH: peer.py, make_bags.py). Needs Debian's
 * python3-rosbag and python3-scipy. Processes alternate, so that both sides see the same machine.
 */
import { copyFileSync, existsSync, mkdtempSync, rmSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { campaignCases } from "./campaigns.mjs";
import { comparisonCases } from "./comparison.mjs";
import { readerRatios } from "./readers.mjs";
import { median, python, timed } from "./timed.mjs";

const root = resolve(import.meta.dirname, "../..");
const program = join(root, "dist/counterpoise.mjs");
const only = process.argv[2] ?? "";
const rounds = Number(process.env.COUNTERPOISE_BENCH_ROUNDS ?? 3);

function report(name, ours, peer, wanted) {
  const own = median(ours.map(({ seconds }) => seconds));
  const memory = Math.max(...ours.map(({ mebibytes }) => mebibytes));
  const ratio = peer ? `${(median(peer.map(({ seconds }) => seconds)) / own).toFixed(1)} x the baseline` : "";
  console.log(
    `${name.padEnd(24)} ${own.toFixed(3)} s  ${memory.toFixed(0).padStart(4)} MiB  ${ratio.padEnd(22)} wanted: ${wanted}`,
  );
}

function bagCase(name, options, wanted) {
  if (!name.includes(only)) return;
  const folder = process.env.COUNTERPOISE_BENCH ?? "";
  if (!existsSync(join(folder, "peer.py"))) {
    console.log(`${name}: left out for want of COUNTERPOISE_BENCH, the folder of baselines`);
    return;
  }
  const work = mkdtempSync(join(tmpdir(), "counterpoise-bench-"));
  try {
    const bag = join(work, "flight.bag");
    const ready = process.env.COUNTERPOISE_BENCH_BAGS ? join(process.env.COUNTERPOISE_BENCH_BAGS, `${name}.bag`) : "";
    if (ready && existsSync(ready)) symlinkSync(ready, bag);
    else timed([python, join(folder, "make_bags.py"), bag, ...options]);
    const manifest = join(work, "campaign.yaml");
    copyFileSync(join(root, "tests/bench/campaign.yaml"), manifest);
    const ours = [];
    const peer = [];
    for (let round = 0; round < rounds; round++) {
      peer.push(timed([python, join(folder, "peer.py"), bag]));
      ours.push(timed([process.execPath, program, "evaluate", manifest, "--quiet", "--no-cache"]));
    }
    report(name, ours, peer, wanted);
  } finally {
    rmSync(work, { recursive: true, force: true });
  }
}

function ownCase(name, args, wanted) {
  if (!name.includes(only)) return;
  const ours = Array.from({ length: rounds + 2 }, () => timed([process.execPath, program, ...args]));
  report(name, ours, null, wanted);
}

ownCase("help", ["--help"], "under 0.3 s");
ownCase("node-alone", ["--version"], "for comparison: the start of Node itself");
const out = mkdtempSync(join(tmpdir(), "counterpoise-bench-"));
ownCase(
  "sample",
  ["evaluate", join(root, "sample-data/campaign.yaml"), "--quiet", "--no-cache", "--out", join(out, "e.json")],
  "under 3 s",
);
rmSync(out, { recursive: true, force: true });
bagCase("small-none", ["--seconds", "90"], "at least 6 x, under 120 MiB");
bagCase("small-lz4", ["--seconds", "90", "--compression", "lz4"], "at least 5 x, under 120 MiB");
bagCase("small-bz2", ["--seconds", "90", "--compression", "bz2"], "no target");
bagCase("long-none", ["--seconds", "1800"], "at least 15 x, under 300 MiB");
if ("campaigns".includes(only)) campaignCases();
if ("comparison".includes(only)) await comparisonCases(python);
if ("readers".includes(only)) await readerRatios();
