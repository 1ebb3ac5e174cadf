import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { benchCheckCodes } from "../../src/contract/benchEvaluation.ts";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";

const page = readFileSync(join(import.meta.dirname, "../../client/manual/bench.md"), "utf8");

test("every finding of the bench has its line in the manual, and no line is left over", () => {
  const rows = page.split("\n").filter((line) => line.startsWith("| `"));
  const named = rows.flatMap((line) => [...line.split("|")[1]!.matchAll(/`([\w-]+)`/g)].map(([, code]) => code!));
  expect([...named].sort()).toEqual([...benchCheckCodes].sort());
});

test("the manual's bench is one", async () => {
  const block = /```yaml\n(bench:[\s\S]*?)```/.exec(page)![1]!;
  const before = `title: x
baseline: bare
candidate: weighted
configurations: { bare: { label: a }, weighted: { label: b } }
vehicle: { com: [0 mm, 0 mm, 0 mm] }
trajectories: { reach: { shape: line, axis: x, stroke: 150 mm, period: 1.9 s, cycles: 10 } }
`;
  const table =
    "log,configuration,trajectory,speed,refit\na.csv,bare,reach,0.1 m/s,1\nb.csv,weighted,reach,1.9 s,1\nc.csv,bare,reach,0.5 Hz,2\n";
  const { bench, runs } = await readCampaign(before + block, { file: "campaign.yaml", readText: () => table });
  expect(runs).toEqual([]);
  // once to and fro along 150 mm is 300 mm
  expect(bench!.runs.map(({ speed }) => speed!.rate)).toEqual([0.1 / 0.3, 1 / 1.9, 0.5]);
  expect(bench!.sensor.counts).toEqual({ force: 1e6, moment: 1e6 });
  expect(bench!.sensor.filter).toEqual({ kind: "low-pass", order: 2, cutoff: 73 });
  expect(bench!.knownMass[0]).toEqual({ log: "w500.csv", mass: 0.5, at: [0, 0.12, 0] });
});
