import { beforeAll, describe, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import type { PlannedRun } from "../../src/simulation/manifestFor.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { stillAir } from "../support/stillAir.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const counterweights = [
  { mass: 0.27, at: [-0.14, 0, 0.02] as const },
  { mass: 0.27, at: [-0.14, 0, -0.02] as const },
];
/** 700 g whose centre travels 0.8 of the tool: 560 g; the weights take away 85 % along x, 12 % along y */
const weighted: FlightChanges = { balance: [0.85, 0.12, 0], counterweights };
const trajectory = { shape: "circle", plane: "xy", radius: 0.06, speed: 0.25, cycles: 8, rampIn: 0 } as const;
const shared: FlightChanges = { trajectory, between: { gain: 0.08, air: 0.1, arm: 0, bias: 0.001, slope: 0 } };
const runs: PlannedRun[] = [];
const logs: Record<string, SimulatedFlight> = {};
for (const [b, block] of ["day1", "day2"].entries())
  for (const [i, configuration] of ["bare", "weighted", "weighted", "bare"].entries()) {
    const id = `flight-${b}${i}`;
    runs.push({ log: `${id}.bag`, id, configuration, trajectory: "orbit", block });
    logs[`${id}.bag`] = shortFlight(300 + 10 * b + i, { ...shared, ...(configuration === "weighted" ? weighted : {}) });
  }

/** The manifest with its mass ledger: travel -0.8815 and -0.1244 of 540 g make 476 g and 67.2 g of the arm's 560 g. */
function manifest(changes: readonly (readonly [string, string])[] = [], more = ""): string {
  const configurations = {
    bare: { label: "Arm alone" },
    weighted: { label: "Counterweights fitted", addedMass: 0.54, counterweights },
  };
  let text = shortManifest(runs, {
    configurations,
    flight: shortSettings(shared),
    trajectories: { orbit: trajectory },
  });
  text = text.replaceAll(/(at: \[-140 mm[^\]]*\])/g, "$1, travel: [-0.881481, -0.124444, 0], lever: 140 mm");
  text += `parts: [{ name: arm, mass: 700 g, travel: [0.8, 0.8, 0.8], function: reach }]\n${more}`;
  for (const [from, to] of changes) {
    if (!text.includes(from)) throw new Error(`the manifest does not hold ${from}`);
    text = text.replaceAll(from, to);
  }
  return text;
}

let evaluation: CampaignEvaluation;
beforeAll(async () => {
  evaluation = await evaluateFlights(logs, manifest());
});

describe("eight flights of which the moving mass is known", () => {
  test("every run shows what moves along both axes, with the phasors that it is made of", () => {
    for (const run of evaluation.runs) {
      expect(run.moving_missing).toBeNull();
      for (const axis of ["x", "y"] as const) {
        const [first, ...others] = run.moving![axis]!;
        expect(others).toEqual([]);
        const { k, travel, moment, apparent_mass: apparent, cov } = first!;
        expect(k).toBe(1);
        expect(Math.hypot(...travel)).toBeGreaterThan(0.055);
        // moment is apparent mass times travel, as complex numbers
        expect(moment![0]).toBeCloseTo(apparent![0] * travel[0] - apparent![1] * travel[1], 10);
        expect(moment![1]).toBeCloseTo(apparent![0] * travel[1] + apparent![1] * travel[0], 10);
        const truth = logs[`${run.id}.bag`]!.truth.apparentMass[axis === "x" ? 0 : 1];
        // six standard errors, and 1 % for what a linear plant leaves out
        expect(Math.abs(apparent![0] - truth)).toBeLessThan(6 * Math.sqrt(cov![0][0]) + 0.006);
        expect(Math.abs(apparent![1])).toBeLessThan(6 * Math.sqrt(cov![1][1]) + 0.006);
      }
    }
  });

  // small angles and a heading of 0: forward thrust is the pitch, thrust to the left the roll turned around. The two look through
  // different windows (whole cycles; a window that fades in and out), so the start's transient and the air part them
  test("the harmonics of roll and pitch stand beside them, and say what the thrust's direction says", () => {
    for (const { attitude, moving, id } of evaluation.runs) {
      const [along, across] = [moving!.x![0]!.tilt, moving!.y![0]!.tilt];
      const [pitch, roll, yaw] = [attitude!.pitch, attitude!.roll, attitude!.yaw].map(
        ({ harmonics }) => harmonics![0]!,
      );
      const apart = (own: { cos: number; sin: number }, [re, im]: readonly number[], sign: number): number =>
        Math.hypot(own.cos - sign * re!, own.sin + sign * im!);
      // six standard errors, and a tenth for the transient
      const near = (own: { amplitude: number; amplitude_se: number | null }): number =>
        6 * own.amplitude_se! + 0.1 * own.amplitude;
      expect(apart(pitch!, along, 1), id).toBeLessThan(near(pitch!));
      expect(apart(roll!, across, -1), id).toBeLessThan(near(roll!));
      expect(yaw!.amplitude, id).toBeLessThan(roll!.amplitude);
      expect(attitude!.pitch.harmonics!.map(({ k }) => k)).toEqual([1, 2, 3, 4, 5]);
      expect(pitch!.amplitude_se!).toBeGreaterThan(0);
    }
  });

  test("the configurations' means, difference and ratio hold the truth, and the ledger says what to expect", () => {
    expect(evaluation.reasons.moving.map(({ axis, harmonic }) => [axis, harmonic])).toEqual([
      ["x", 1],
      ["y", 1],
    ]);
    for (const { axis, unit, configurations, contrasts } of evaluation.reasons.moving) {
      const left = axis === "x" ? 0.15 : 0.88;
      expect(unit).toBe("kg");
      expect(configurations.bare!.expected).toBeCloseTo(0.56, 6);
      expect(configurations.weighted!.expected).toBeCloseTo(0.56 * left, 4);
      expect(configurations.bare!.checks).toEqual([]);
      const { difference, ratio } = contrasts.weighted!;
      expect(difference.ci95![0]).toBeLessThan(0.56 * (left - 1));
      expect(difference.ci95![1]).toBeGreaterThan(0.56 * (left - 1));
      expect(ratio.ci95![0]!).toBeLessThan(left);
      expect(ratio.ci95![1]!).toBeGreaterThan(left);
      expect(ratio.expected).toBeCloseTo(left, 4);
    }
    const [x, y] = evaluation.reasons.moving;
    // 84 g left, and a gram of weight takes 0.8815 g away; along y it takes 0.124 g
    expect(x!.remaining!.more).toBeCloseTo(x!.configurations.weighted!.mean / 0.881481, 6);
    // a lever of 140 mm: a millimetre further out adds 1/140 of what the weights take away
    expect(x!.remaining!.further).toBeCloseTo((0.14 * x!.configurations.weighted!.mean) / (0.54 * 0.881481), 6);
    expect(y!.remaining).toMatchObject({ more: null, why_not: expect.stringContaining("hardly act along this axis") });
    expect(x!.budget.map(({ cancels }) => cancels)).toEqual([true, true, false, true, true]);
  });

  test("without a ledger the same flights give the same figures, and nothing is expected", async () => {
    const plain = await evaluateFlights(logs, manifest([["parts: [", "x-parts: ["]]).replace(/^x-parts.*$/m, ""));
    expect(plain.reasons.moving[0]!.configurations.bare).toMatchObject({ expected: null });
    expect(plain.runs[0]!.moving!.x![0]!.share[0]).toBeCloseTo(evaluation.runs[0]!.moving!.x![0]!.share[0], 12);
  });
});

describe("what cannot be said is said", () => {
  test("of a vehicle that nobody weighed only shares are known, and no ratio where mass was added", async () => {
    const { runs: found, reasons } = await evaluateFlights(logs, manifest([["mass: 4.6 kg, ", ""]]));
    expect(found[0]!.moving).toMatchObject({ mass: null });
    expect(found[0]!.moving!.x![0]).toMatchObject({ moment: null, apparent_mass: null, cov: null });
    expect(reasons.moving[0]!.unit).toBe("1");
    expect(reasons.moving[0]!.configurations.bare!.mean).toBeCloseTo(
      evaluation.reasons.moving[0]!.configurations.bare!.mean / 4.6,
      12,
    );
    expect(reasons.moving[0]!.contrasts.weighted!.ratio).toMatchObject({ value: null, ci95: null });
  });

  test("a tether under tension, or contact within the cycles, leaves a run without one; slack, or contact before, does not", async () => {
    const id = (k: number): string => `id: "flight-0${k}"`;
    const held = manifest([
      [id(0), `${id(0)}, flight: { tether: tension }`],
      [id(1), `${id(1)}, flight: { contact: [12 s, 13 s] }`],
      [id(2), `${id(2)}, flight: { tether: slack, contact: [2 s, 4 s] }`],
      [id(3), `${id(3)}, flight: tension`],
    ]);
    const { runs: found } = await evaluateFlights(logs, held);
    expect(found.map(({ moving_missing: why }) => why?.split(" ").slice(-2).join(" ") ?? null)).toEqual([
      "under tension",
      "the cycles",
      null,
      "under tension",
      null,
      null,
      null,
      null,
    ]);
    expect(found.map(({ moving }) => moving === null).slice(0, 4)).toEqual([true, true, false, true]);
  });

  test("an attitude that is late is doubted by its phase in both configurations, and holds back no verdict", async () => {
    // the marker frame turned by 90 degrees about the vertical, undeclared: travel and thrust of different axes
    const turned = Object.fromEntries(
      Object.entries(logs).map(([name, flight]) => [name, { ...flight, signals: flight.signals.map(lateAttitude) }]),
    );
    const { runs: found, reasons } = await evaluateFlights(turned as never, manifest());
    expect(
      reasons.moving.flatMap(({ configurations }) => configurations.bare!.checks.map(({ code }) => code)),
    ).toContain("moment-phase");
    const checks = found.flatMap((run) => checksOf(run, "moment-phase"));
    expect(checks.length).toBeGreaterThan(0);
    expect(new Set(checks.map(({ severity }) => severity))).toEqual(new Set(["doubt"]));
    expect(
      found
        .flatMap(({ checks: all }) => all.filter(({ code }) => code === "moment-phase"))
        .every(({ touches }) => touches.part === "nothing"),
    ).toBe(true);
  });
});

/** The vehicle's attitude as it was 150 ms before, its position as it is: a filter on one of the two. */
function lateAttitude<T extends { readonly signal: string; readonly columns: Readonly<Record<string, Float64Array>> }>(
  signal: T,
): T {
  if (signal.signal !== "vehicle_pose") return signal;
  const late = (column: Float64Array): Float64Array => column.map((_, i) => column[Math.max(0, i - 15)]!);
  const columns = Object.fromEntries(
    Object.entries(signal.columns).map(([name, column]) => [name, name.startsWith("q") ? late(column) : column]),
  );
  return { ...signal, columns };
}

describe("what the intervals do not show", () => {
  const still: FlightChanges = { ...shared, ...stillAir };
  const flown = async (changes: FlightChanges, point: string | null): Promise<[number, number]> => {
    const pair = { "flight-00.bag": {}, "flight-01.bag": weighted };
    const found = Object.fromEntries(
      Object.entries(pair).map(([name, more]) => [name, shortFlight(7, { ...still, ...changes, ...more })]),
    );
    const text = manifest(point === null ? [] : [["body_point: [0 mm, 0 mm, 0 mm]", `body_point: ${point}`]]);
    const lines = text.split("\n").filter((line) => !/flight-0[2-9]|flight-1/.test(line));
    const { runs: own } = await evaluateFlights(found, lines.join("\n"));
    return own.map(({ moving }) => moving!.x![0]!.apparent_mass![0]) as [number, number];
  };

  // a drag of 0.3 /s, and a point 23 mm above the centre of mass: each off by some per cent, the ratio by 1.5 and 1 % at most
  test("drag and a wrong height move the grams, and nearly cancel in the ratio", async () => {
    const [bare, left] = await flown({}, null);
    expect(bare / 0.56).toBeCloseTo(1, 2);
    expect(left / bare / 0.15).toBeCloseTo(1, 2);
    const dragged = await flown({ vehicle: { ...shortSettings().vehicle, drag: 0.3 } }, null);
    expect(dragged[0]).toBeLessThan(0.995 * bare);
    expect(Math.abs(dragged[1] / dragged[0] / 0.15 - 1)).toBeLessThan(0.015);
    const raised = await flown({}, "[0 mm, 0 mm, 23 mm]");
    expect(Math.abs(raised[0] / bare - 1)).toBeGreaterThan(0.005);
    // the weights hold part of the mass, and their places are declared: the candidate is off by 4.6/5.14 of it
    expect(Math.abs(raised[1] / raised[0] / (left / bare) - 1)).toBeLessThan(0.015);
  });
});
