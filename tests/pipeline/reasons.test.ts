import { beforeAll, expect, test } from "vitest";
import { frameRuns } from "../../src/comparison/frames/frameRuns.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { axes } from "../../src/foundation/signals.ts";
import { loadCampaign } from "../../src/pipeline/loadCampaign.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import type { PlannedRun } from "../../src/simulation/manifestFor.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

/** Two blocks of 2 + 2 flights; the candidate's counterweights take away most of the arm's pull along y. */
const balanced: FlightChanges = { balance: [0, 0.75, 0] };
const runs: PlannedRun[] = [];
const logs: Record<string, SimulatedFlight> = {};
["day1", "day2"].forEach((block, b) => {
  ["bare", "weighted", "weighted", "bare"].forEach((configuration, i) => {
    const id = `flight-${b}${i}`;
    runs.push({ log: `${id}.bag`, id, configuration, trajectory: "orbit", block });
    logs[`${id}.bag`] = shortFlight(100 + 10 * b + i, configuration === "weighted" ? balanced : {});
  });
});
const counterweights = [{ mass: 0.27, at: [-0.14, 0, 0.02] as const }];
const configurations = {
  bare: { label: "Arm alone" },
  weighted: { label: "Counterweights fitted", addedMass: 0.27, counterweights },
};
const manifest = (frames: FlightChanges["frames"] = {}): string =>
  shortManifest(runs, { configurations, flight: shortSettings({ frames }) });

let evaluation: CampaignEvaluation;
let campaign: Campaign;
beforeAll(async () => {
  evaluation = await evaluateFlights(logs, manifest());
  campaign = (await loadCampaign("campaign.yaml", memoryEffects(manifest(), logs))).campaign;
});

test("every run of the campaign explains itself: path, budget, Allan deviation and spectrum", () => {
  for (const run of evaluation.runs) {
    expect(run.path!.effector!.cycles).toBeGreaterThanOrEqual(4);
    expect(run.budget!.window).toBe("cycles");
    expect(Object.keys(run.allan!)).toContain("vehicle");
    expect(run.spectrum!.subjects.vehicle!.harmonics.map(({ k }) => k)).toEqual([1, 2, 3, 4, 5]);
  }
});

test("the effector's budget adds up per configuration, and its rms is that of the runs", () => {
  for (const one of evaluation.reasons.budget) {
    const own = evaluation.runs.filter(({ id }) => one.runs.includes(id));
    expect(own).toHaveLength(4);
    for (const axis of axes) {
      const { rms, shares } = one[axis];
      expect(shares!.vehicle + shares!.attitude + shares!.arm).toBeCloseTo(1, 12);
      const squares = own.map((run) => run.tracking.cycles!.effector![axis].rms ** 2);
      // the budget leaves out the few samples without a pose of the vehicle on both sides
      expect(rms).toBeCloseTo(Math.sqrt(squares.reduce((sum, value) => sum + value, 0) / 4), 4);
    }
  }
  expect(evaluation.reasons.budget.map(({ configuration }) => configuration)).toEqual(["bare", "weighted"]);
});

test("with tool point and arm base elsewhere every run's rms is what the frames' effect foretells", async () => {
  const moved = await evaluateFlights(
    logs,
    manifest({
      toolPoint: [0.003, -0.002, -0.041],
      armBase: { translation: [0.057, 0.004, -0.12], rotation: [0, 0, 0] },
    }),
  );
  const shift = [0.003, -0.002, 0.004, -0.003, 0.004, 0, 0, 0, 0];
  for (const axis of axes) {
    const found = frameRuns(campaign, evaluation.runs, {
      trajectory: "orbit",
      subject: "effector",
      axis,
      metric: "rms",
    })!;
    expect(found.parameters).toHaveLength(shift.length);
    const d = [1, ...shift];
    for (const { id, form } of found.runs) {
      let square = 0;
      d.forEach((a, i) => {
        d.forEach((b, j) => {
          square += a * b * form[i * d.length + j]!;
        });
      });
      const again = moved.runs.find((run) => run.id === id)!.tracking.cycles!.effector![axis].rms;
      // a few samples more or less than the budget has; the tool turns by its own small attitude
      expect(Math.abs(Math.sqrt(square) - again), `${id} ${axis}`).toBeLessThan(2e-5);
    }
  }
});

test("the counterweights' part shows as a smaller vector, with its ratio, and the imbalance as a moment", () => {
  const vehicle = evaluation.reasons.synchronous.find(
    ({ subject, axis, k }) => subject === "vehicle" && axis === "y" && k === 1,
  )!;
  expect(vehicle.method).toBe("blocked");
  // 0.75 of the pull along y is taken away, so that a quarter is left, and what the tilt adds
  expect(vehicle.ratio!).toBeLessThan(0.5);
  expect(vehicle.ratio_ci95![1]!).toBeLessThan(0.7);
  // two blocks of 2 + 2: 36 ways, the mirrored as extreme
  expect(vehicle.permutation).toMatchObject({ arrangements: 36, exact: true });
  expect(vehicle.permutation!.p_least).toBeCloseTo(2 / 36, 12);
  const [imbalance] = evaluation.reasons.imbalance;
  expect(imbalance!.settings.map(({ configuration, moment }) => [configuration, moment[0]])).toEqual([
    ["bare", 0],
    ["weighted", expect.closeTo(-0.0378, 12)],
  ]);
  expect(imbalance!.synchronous_rms.candidate).toBeLessThan(imbalance!.synchronous_rms.baseline);
});

test("flying again under no new configuration adds no look where none is wanted", async () => {
  const written = new Map<string, string>();
  const effects = memoryEffects(manifest(), logs, written);
  const { evaluateCampaign } = await import("../../src/pipeline/evaluateCampaign.ts");
  const silent = await evaluateCampaign("campaign.yaml", { effects, look: false });
  expect(silent.looks).toEqual({ count: 0, first: null, recorded: true });
  expect(written.size).toBe(0);
});
