import { describe, expect, test } from "vitest";
import type { MeasureId } from "../../src/catalogue/measures.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { RunCheck, RunEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { Check } from "../../src/foundation/checks.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

// Which cells are doubted follows from the rule alone (half of the runs of a configuration, or a verdict that changes without
// the runs doubted); the numbers are invented so that the tests' own verdicts cannot be in question.

/** Six runs of each: 10 mm with the arm alone, 7 mm with counterweights, 0.1 mm apart; along x of the vehicle. */
const steady = [0, 1, 2, 3, 4, 5].flatMap((i) => [
  { configuration: "bare", value: 0.01 + 1e-4 * i },
  { configuration: "weighted", value: 0.007 + 1e-4 * i },
]);
const bareIds = ["run-1", "run-3", "run-5", "run-7", "run-9", "run-11"];

const finding = (changes: Partial<Check> = {}): RunCheck =>
  checkEvaluation({ code: "jump", severity: "doubt", message: "it jumps", evidence: {}, hint: "look", ...changes });

function judged(
  doubted: readonly string[],
  check: RunCheck,
  {
    values = steady,
    metric = "rms",
    campaign = {},
  }: { values?: typeof steady; metric?: MeasureId; campaign?: Partial<Campaign> } = {},
): Cell {
  const runs = inventedRuns(values).map(
    (run): RunEvaluation => (doubted.includes(run.id) ? { ...run, checks: [...run.checks, check] } : run),
  );
  const cells = compareCampaign(inventedCampaign(runs, { primary: metric, ...campaign }), runs, defaultSettings);
  return cells.find((cell) => cell.in_family && cell.subject === "vehicle" && cell.axis === "x")!;
}

describe("a claim is doubted", () => {
  test("where half of the runs of one configuration bear a finding that touches it, and not where fewer do", () => {
    expect(judged([], finding())).toMatchObject({ verdict: "steadier", doubts: [] });
    expect(judged(bareIds.slice(0, 3), finding())).toMatchObject({ verdict: "doubted", doubts: ["jump"], fragile: [] });
    expect(judged(bareIds.slice(0, 2), finding())).toMatchObject({ verdict: "steadier", doubts: [] });
  });

  test("and its p stays in the family as it was", () => {
    const [with_, without] = [judged(bareIds, finding()), judged([], finding())];
    expect(with_).toMatchObject({ p: without.p, p_family: without.p_family, difference: without.difference });
  });

  test("where it is another without the runs that bear a finding", () => {
    // one run at 30 mm hides what the other eleven show; without it they would be steadier
    const values = steady.map((run, i) => (i === 0 ? { ...run, value: 0.0045 } : run));
    expect(judged([], finding(), { values }).verdict).toBe("within the noise");
    // and the other way about: what 2 of 3 runs say is said by too few
    const three = steady.slice(0, 6);
    expect(judged([], finding(), { values: three }).verdict).toBe("steadier");
    expect(judged(["run-1"], finding(), { values: three })).toMatchObject({ verdict: "doubted", doubts: ["jump"] });
  });

  test("`no difference that matters` like any other claim; an interval too, by most of the runs; too few runs claim nothing", () => {
    const alike = steady.map((run) => ({ ...run, value: 0.01 + (run.value % 1e-3) }));
    expect(judged([], finding(), { values: alike }).verdict).toBe("no difference that matters");
    expect(judged(bareIds, finding(), { values: alike }).verdict).toBe("doubted");
    const wild = steady.map((run, i) => ({ ...run, value: 0.01 * (1 + (i % 5)) }));
    expect(judged(bareIds, finding(), { values: wild })).toMatchObject({ verdict: "doubted", doubts: ["jump"] });
    // not where some few would do
    const few = bareIds.slice(0, 2);
    expect(judged(few, finding(), { values: wild })).toMatchObject({ verdict: "within the noise", doubts: [] });
    expect(judged(["run-1"], finding(), { values: steady.slice(0, 4) }).verdict).toBe("too few runs");
  });
});

describe("a finding touches no claim", () => {
  test("of another axis, subject or window", () => {
    for (const touches of [{ axes: ["y", "z"] }, { subjects: ["effector", "arm"] }, { windows: ["hold"] }] as const)
      expect(judged(bareIds, finding({ touches })).verdict).toBe("steadier");
    expect(judged(bareIds, finding({ touches: { axes: ["x"], subjects: ["vehicle"] } })).verdict).toBe("doubted");
  });

  test("that is about the hold, but for a trajectory that is one", () => {
    const campaign = { trajectories: { orbit: { shape: "hold", duration: 60 } } } as const;
    expect(judged(bareIds, finding({ touches: { windows: ["hold"] } }), { campaign }).verdict).toBe("doubted");
    expect(judged(bareIds, finding({ touches: { windows: ["cycles"] } }), { campaign }).verdict).toBe("steadier");
  });

  test("where it can only have moved the bias, and sd or range are compared", () => {
    const off = finding({ code: "frame-suspect" });
    expect(off.touches.part).toBe("bias");
    expect(judged(bareIds, off).verdict).toBe("doubted");
    for (const metric of ["sd", "range"] as const) expect(judged(bareIds, off, { metric }).verdict).toBe("steadier");
  });

  test("where it is a note, or what was truly flown", () => {
    expect(judged(bareIds, finding({ severity: "note" })).verdict).toBe("steadier");
    for (const code of ["sag", "saturated", "recovered", "missing-signal"] as const)
      expect(judged(bareIds, finding({ code })).verdict).toBe("steadier");
  });

  test("that a person has taken as it is", () => {
    const taken = { ...finding(), accepted_because: "the net moves in the fan's wind" };
    expect(judged(bareIds, taken)).toMatchObject({ verdict: "steadier", doubts: [] });
  });
});
