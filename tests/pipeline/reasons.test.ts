import { beforeAll, expect, test } from "vitest";
import { frameRuns } from "../../src/comparison/frameEffects.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { axes } from "../../src/foundation/tracks.ts";
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

test.each([1, 2, 4])(
  "with %d cycles a run says that they are few for its harmonics; with one there are none",
  async (cycles) => {
    const change = {
      trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles, rampIn: 0 },
    } as const;
    const few: Record<string, SimulatedFlight> = {};
    const own = ["bare", "weighted", "bare", "weighted"].map((configuration, i): PlannedRun => {
      few[`few-${i}.bag`] = shortFlight(60 + i, change);
      return { log: `few-${i}.bag`, id: `few-${i}`, configuration, trajectory: "orbit", block: "day1" };
    });
    const found = await evaluateFlights(few, shortManifest(own, { configurations, flight: shortSettings(change) }));
    for (const run of found.runs) {
      const check = run.checks.find(({ code }) => code === "few-cycles")!;
      expect(check.severity).toBe("note");
      expect(check.message).toMatch(
        cycles === 1 ? /^one whole cycle: / : new RegExp(`^${cycles} whole cycles: harmonics 1 to 5`),
      );
    }
    expect(found.reasons.synchronous.length).toBe(cycles === 1 ? 0 : 3 * 3 * 5);
    // a single cycle has no spread between cycles
    expect(found.reasons.components.length).toBe(cycles === 1 ? 0 : 6);
  },
);

test("one run of each configuration: no spread, so the plan has a table over plausible ones instead of a number", async () => {
  const pair = runs.slice(0, 2);
  const own = Object.fromEntries(pair.map(({ log }) => [log as string, logs[log as string]!]));
  const { plan, reasons, cells } = await evaluateFlights(own, shortManifest(pair, { configurations }));
  expect(plan.cells).toEqual([]);
  // the smallest difference is 1 mm
  expect(plan.assumed.map(({ sd }) => 1e3 * sd)).toEqual([0.25, 0.5, 1, 2, 4].map((sd) => expect.closeTo(sd, 9)));
  expect(plan.because).toContain("how far runs spread is not known");
  expect(reasons.components).toEqual([]);
  expect(reasons.imbalance).toEqual([]);
  expect(cells.every(({ in_family: own, verdict }) => !own || verdict === "too few runs")).toBe(true);
});

test("one block only, and configurations flown in separate blocks, are findings of the audit", async () => {
  const one = await evaluateFlights(
    logs,
    shortManifest(
      runs.map((run) => ({ ...run, block: "day1" })),
      { configurations },
    ),
  );
  expect(one.audit.findings.map(({ code }) => code)).toContain("one-block");
  const apart = await evaluateFlights(
    logs,
    shortManifest(
      runs.map((run) => ({ ...run, block: run.configuration === "bare" ? "day1" : "day2" })),
      { configurations },
    ),
  );
  const finding = apart.audit.findings.find(({ code }) => code === "separate-blocks")!;
  expect(finding.severity).toBe("doubt");
  expect(finding.message).toMatch(/^no block of orbit holds both configurations/);
  expect(apart.cells.filter(({ in_family: own }) => own).every(({ method }) => method === "welch")).toBe(true);
});

test("flying again under no new configuration adds no look where none is wanted", async () => {
  const written = new Map<string, string>();
  const effects = memoryEffects(manifest(), logs, written);
  const { evaluateCampaign } = await import("../../src/pipeline/evaluateCampaign.ts");
  const silent = await evaluateCampaign("campaign.yaml", { effects, look: false });
  expect(silent.looks).toEqual({ count: 0, first: null, recorded: true });
  expect(written.size).toBe(0);
});
