import { beforeAll, describe, expect, test } from "vitest";
import { type Cell, cellSchema } from "../../src/contract/cell.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import type { PlannedRun } from "../../src/simulation/manifestFor.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

/** From logs to verdicts where the campaign is poor: simulated flights, the candidate's in calm air with a balanced arm. */

const logs: Record<string, SimulatedFlight> = {};
beforeAll(() => {
  for (let i = 1; i <= 5; i++) logs[`bare-${i}.bag`] = shortFlight(300 + i);
  for (let i = 1; i <= 4; i++) {
    const calm = {
      air: { force: [0.05, 0.05, 0.05], torque: [0.01, 0.01, 0.004] },
      balance: [0.95, 0.95, 0.95],
    } as const;
    logs[`weighted-${i}.bag`] = shortFlight(400 + i, calm);
  }
});

const run = (name: string, more: Partial<PlannedRun> = {}): PlannedRun => ({
  log: `${name}.bag`,
  id: name,
  configuration: name.startsWith("bare") ? "bare" : "weighted",
  trajectory: "orbit",
  ...more,
});
const bare = (count = 4, more: Partial<PlannedRun> = {}): PlannedRun[] =>
  Array.from({ length: count }, (_, i) => run(`bare-${i + 1}`, more));
const weighted = (count = 4, more: Partial<PlannedRun> = {}): PlannedRun[] =>
  Array.from({ length: count }, (_, i) => run(`weighted-${i + 1}`, more));

/** The evaluation, which must keep its schema, and its family. */
async function judge(
  runs: readonly PlannedRun[],
  more: Readonly<Record<string, SimulatedFlight>> = {},
): Promise<CampaignEvaluation & { family: Cell[] }> {
  const evaluation = await evaluateFlights({ ...logs, ...more }, shortManifest(runs));
  expect(() => evaluationJson(evaluation)).not.toThrow();
  for (const cell of evaluation.cells) expect(() => cellSchema.parse(cell)).not.toThrow();
  const family = evaluation.cells.filter(({ in_family }) => in_family);
  expect(family).toHaveLength(6);
  return { ...evaluation, family };
}

const cellOf = (family: readonly Cell[], subject: string, axis: string): Cell =>
  family.find((cell) => cell.subject === subject && cell.axis === axis)!;

describe("4 v 4 runs of vehicles that do differ", () => {
  test("are distinguished, and the values are the runs' own tracking errors", async () => {
    const { family, runs } = await judge([...bare(), ...weighted()]);
    const cell = cellOf(family, "effector", "y");
    expect(cell).toMatchObject({ verdict: "steadier", method: "welch", smallest_difference: 0.001 });
    expect(cell.baseline.values).toEqual(runs.slice(0, 4).map((one) => one.tracking.cycles!.effector!.y.rms));
    expect(cell.candidate.runs).toEqual(["weighted-1", "weighted-2", "weighted-3", "weighted-4"]);
    expect(runs.flatMap((one) => checksOf(one, "confounded"))).toEqual([]);
  });
});

describe("poor campaigns", () => {
  test("one configuration only", async () => {
    for (const cell of (await judge(bare(5))).family) {
      expect(cell).toMatchObject({
        verdict: "too few runs",
        baseline: { n: 5 },
        candidate: { n: 0 },
        difference: null,
        p: null,
      });
    }
  });

  test("2 v 2", async () => {
    for (const cell of (await judge([...bare(2), ...weighted(2)])).family) {
      expect(cell).toMatchObject({ verdict: "too few runs", p_family: 1, fragile: [] });
    }
  });

  test("all runs unusable: no log is there", async () => {
    const lost = ["a", "b", "c"].flatMap((id) =>
      ["bare", "weighted"].map((configuration) => ({
        log: `lost-${configuration}-${id}.bag`,
        id: `${configuration}-${id}`,
        configuration,
        trajectory: "orbit",
      })),
    );
    const { family, runs } = await judge(lost);
    for (const one of runs) expect(one.used).toBe(false);
    for (const cell of family)
      expect(cell).toMatchObject({ verdict: "too few runs", baseline: { n: 0 }, candidate: { n: 0 } });
  });

  test("a log that was copied counts once: three logs filed as four runs are three", async () => {
    const { family, runs } = await judge([...bare(), ...weighted(3), run("weighted-4", { log: "copy.bag" })], {
      "copy.bag": logs["weighted-1.bag"]!,
    });
    expect(checksOf(runs[7]!, "copied")).toHaveLength(1);
    expect(runs[7]!.used).toBe(false);
    for (const cell of family) {
      expect(cell.candidate.runs).toEqual(["weighted-1", "weighted-2", "weighted-3"]);
      expect(cell.verdict_all_runs).toBe(cell.verdict);
    }
  });

  test("configurations flown in separate blocks: every run says so, and no claim is firm", async () => {
    const { family, runs } = await judge([...bare(4, { block: "day1" }), ...weighted(4, { block: "day2" })]);
    for (const one of runs) {
      const [check] = checksOf(one, "confounded");
      expect(check).toMatchObject({
        severity: "doubt",
        evidence: { baseline_blocks: ["day1"], candidate_blocks: ["day2"] },
      });
    }
    for (const cell of family) expect(cell).toMatchObject({ method: "welch", arrangements: 1, p_permutation: 1 });
    const claimed = family.filter(({ verdict }) => verdict === "steadier");
    expect(claimed.length).toBeGreaterThan(0);
    for (const { fragile } of claimed) expect(fragile.some((reason) => reason.includes("permutation"))).toBe(true);
  });

  test("a block with one configuration is flown for nothing, and confounds nothing", async () => {
    const shared = [...bare(2, { block: "day1" }), ...weighted(2, { block: "day1" })];
    const second = [3, 4].flatMap((i) => [
      run(`bare-${i}`, { block: "day2" }),
      run(`weighted-${i}`, { block: "day2" }),
    ]);
    const alone = run("bare-5", { block: "day3" });
    const [without, withAlone] = [await judge([...shared, ...second]), await judge([...shared, ...second, alone])];
    expect(withAlone.runs.flatMap((one) => checksOf(one, "confounded"))).toEqual([]);
    for (const [i, cell] of withAlone.family.entries()) {
      const { difference, se, df, p, p_permutation, method } = without.family[i]!;
      expect(cell.baseline.n).toBe(5);
      expect({ ...cell }).toMatchObject({ difference, se, df, p, p_permutation, method });
      expect(method).toBe("blocked");
    }
  });

  test("a run that a person excluded is put back for the second verdict; one that was aborted is not", async () => {
    const gust = shortFlight(77, { air: { force: [3, 3, 3] } });
    const plan = (more: Partial<PlannedRun>) => [...bare(), ...weighted(3), run("weighted-4"), run("weighted-5", more)];
    const more = { "weighted-5.bag": gust };
    const excluded = cellOf((await judge(plan({ exclude: "gust through the door" }), more)).family, "effector", "y");
    expect(excluded).toMatchObject({ verdict: "steadier", verdict_all_runs: "within the noise", candidate: { n: 4 } });
    expect(excluded.fragile).toContain('with the runs put back that a person excluded it would be "within the noise"');
    const aborted = cellOf((await judge(plan({ outcome: "aborted" }), more)).family, "effector", "y");
    expect(aborted).toMatchObject({ verdict: "steadier", verdict_all_runs: "steadier", candidate: { n: 4 } });
    expect(aborted.fragile.filter((reason) => reason.includes("put back"))).toEqual([]);
  });
});
