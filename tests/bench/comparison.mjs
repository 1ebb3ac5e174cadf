import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { rolldown } from "rolldown";

/** Speed of the comparison in a process of its own, against the same permutations in a loop of numpy. Prints figures. */
export async function comparisonCases(python) {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-bench-"));
  try {
    const file = join(folder, "cases.mjs");
    const bundle = await rolldown({ input: join(import.meta.dirname, "comparisonCases.ts"), platform: "node" });
    await bundle.write({ file, format: "esm" });
    const { stdout, stderr, status } = spawnSync(process.execPath, [file], { encoding: "utf8" });
    if (status !== 0) throw new Error(stderr);
    const found = Object.fromEntries(
      stdout
        .trim()
        .split("\n")
        .map((line) => JSON.parse(line))
        .map(({ name, milliseconds }) => [name, milliseconds / 1000]),
    );
    const peer = spawnSync(python, [join(import.meta.dirname, "comparison_peer.py")], { encoding: "utf8" });
    const ratio = peer.status === 0 ? `${(Number(peer.stdout) / found.permutations).toFixed(0)} x the baseline` : "";
    const line = (name, seconds, more, wanted) =>
      console.log(`${name.padEnd(34)} ${seconds.toFixed(3)} s  ${more.padEnd(22)} wanted: ${wanted}`);
    line("20 000 permutations of 24 cells", found.permutations, ratio, "under 0.5 s");
    line("1 000 runs judged, 24 cells", found.thousand, "", "under 1 s");
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
