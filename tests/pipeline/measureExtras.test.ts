import { beforeAll, describe, expect, test } from "vitest";
import type { AlignedRun } from "../../src/alignment/alignRun.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import { type RunExtras, runExtrasSchema } from "../../src/contract/runExtras.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { loadCampaign } from "../../src/pipeline/loadCampaign.ts";
import { alignOneRun, measureExtras } from "../../src/pipeline/measureExtras.ts";
import { measureRun, type RunMeasures } from "../../src/pipeline/measureRun.ts";
import { turn } from "../../src/simulation/attitude.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges, FlightSettings } from "../../src/simulation/flightShape.ts";
import { fly } from "../../src/simulation/motion.ts";
import { toolInWorld } from "../../src/simulation/placement.ts";
import { type SimulatedFlight, simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { normalLimit } from "../metrics/samplingLimits.ts";
import { relativeError } from "../numeric/relativeError.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { stillAir } from "../support/stillAir.ts";
import { manifestOf } from "./againstTruth.ts";

interface Measured {
  readonly flight: SimulatedFlight;
  readonly campaign: Campaign;
  readonly aligned: AlignedRun;
  readonly measures: RunMeasures;
  readonly extras: RunExtras;
}

/** One flight through reading and alignment, as the evaluation would have it, and what the catalogue makes of it. */
async function measure(settings: FlightSettings, seed: number): Promise<Measured> {
  const flight = simulateFlight(settings, seed);
  const effects = memoryEffects(manifestOf(settings), { "flight.bag": flight });
  const { campaign } = await loadCampaign("campaign.yaml", effects);
  const declaration = campaign.runs[0]!;
  const { aligned } = await alignOneRun(
    { campaign, declaration, manifestPath: "campaign.yaml", settings: defaultSettings, judgeIn: "world" },
    effects,
  );
  const measures = measureRun(aligned, { vehicle: null, effector: null }, defaultSettings);
  const extras = measureExtras(aligned, campaign, declaration, measures.synchronous, defaultSettings);
  return { flight, campaign, aligned, measures, extras };
}

const noiseless: FlightChanges = { capture: { positionNoise: [0, 0, 0], attitudeNoise: 0 } };
const rms = (values: readonly number[]): number => Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);

describe("a flight in moving air, captured without noise", () => {
  let one: Measured;
  beforeAll(async () => {
    one = await measure(flightSettings(noiseless), 11);
  }, 60_000);

  test("budget: each part has the size that the true motion gives it, and they share out the mean square", () => {
    const { truth, seed } = one.flight;
    const { resolved, timeline, samples } = truth;
    const { full } = fly(resolved, timeline, seed);
    const end = truth.cycleStart + truth.cycles * truth.period;
    const parts = { vehicle: [[], [], []], attitude: [[], [], []], arm: [[], [], []] } as Record<string, number[][]>;
    samples.time.forEach((time, i) => {
      if (time < truth.cycleStart || time >= end) return;
      const now = full.at(time);
      const tool = toolInWorld(resolved, now, now.tool);
      const setpoint = full.setpoint(time);
      // the setpoint is level with yaw 0: the commanded lever is the asked tool point less the setpoint
      const lever = [0, 1, 2].map((k) => tool[k]! - samples.errors.effector[k]![i]! - setpoint[k]!);
      const turned = turn(now.attitude, lever as unknown as readonly [number, number, number]);
      for (let k = 0; k < 3; k++) {
        parts.vehicle![k]!.push(now.position[k]! - setpoint[k]!);
        parts.attitude![k]!.push(turned[k]! - lever[k]!);
        parts.arm![k]!.push(
          samples.errors.effector[k]![i]! - (now.position[k]! - setpoint[k]!) - (turned[k]! - lever[k]!),
        );
      }
    });
    const budget = one.extras.budget!;
    expect(budget.window).toBe("cycles");
    axes.forEach((axis, k) => {
      const { parts: found, shares } = budget[axis];
      for (const part of ["vehicle", "attitude", "arm"] as const) {
        // stamps wrong by up to 0.3 ms move the arm's part by 0.25 m/s times that, the others by less
        expect(Math.abs(found[part] - rms(parts[part]![k]!)), `${part} ${axis}`).toBeLessThan(8e-5);
      }
      expect(Math.abs(shares!.vehicle + shares!.attitude + shares!.arm - 1)).toBeLessThan(1e-12);
    });
  });

  test("the budget's total is the tracking error of the effector", () => {
    for (const axis of [...axes, "norm"] as const) {
      // the same samples but for those at the ends that have a pose of the vehicle on one side only
      expect(
        relativeError(one.extras.budget![axis].rms, one.measures.tracking.cycles!.effector![axis].rms),
      ).toBeLessThan(1e-3);
    }
  });

  test("5 mm of tool point and arm base and a degree move the rms by what is printed beside it", () => {
    const { sensitivity, x } = one.extras.budget!;
    expect(sensitivity.parameters).toHaveLength(9);
    // a hovering vehicle is all but level, so along x only the tool point's and the arm base's own x, and the base's turn
    // about y and z, count: bias / rms each for the shifts
    const bias = one.measures.tracking.cycles!.effector!.x.bias;
    expect(Math.abs(sensitivity.x.rms[0]! - bias / x.rms)).toBeLessThan(0.01);
    expect(Math.abs(sensitivity.x.rms[3]! + bias / x.rms)).toBeLessThan(0.01);
    expect(sensitivity.x.worst).toBeGreaterThan(sensitivity.x.quadrature);
    const [low, high] = sensitivity.x.rms_within;
    expect(low).toBeLessThanOrEqual(x.rms);
    expect(high).toBeGreaterThanOrEqual(x.rms + sensitivity.x.worst * 0.999);
  });

  test("contour distance never exceeds the tracking error, and the effector's is above the arm's own", () => {
    const { effector, arm } = one.extras.path!;
    const tracking = one.measures.tracking.cycles!;
    expect(effector!.contour.rms).toBeLessThan(tracking.effector!.norm.rms);
    expect(arm!.contour.rms).toBeLessThan(tracking.arm!.norm.rms);
    expect(effector!.contour.rms).toBeGreaterThan(arm!.contour.rms);
    // the vehicle is told to stay: no path of its own
    expect(one.extras.path!.vehicle).toBeUndefined();
    // 12 cycles of 1.5 s, less the two that begin within the 2.5 s of settling
    expect([effector!.cycles, effector!.cycles_left_out]).toEqual([10, 2]);
  });

  test("the vehicle's error goes with the arm at the cycle rate", () => {
    const { coherence, subjects } = one.extras.spectrum!;
    expect(["y", "z"]).toContain(coherence!.arm_axis);
    const first = coherence!.harmonics[0]!;
    expect(first.frequency).toBeCloseTo(1 / one.flight.truth.period, 4);
    expect(Math.max(first.y, first.z)).toBeGreaterThan(coherence!.significance);
    expect(subjects.vehicle!.harmonics.map(({ k }) => k)).toEqual([1, 2, 3, 4, 5]);
  });
});

describe("the arm alone, in still air and without noise: a linear servo has answers in closed form", () => {
  let one: Measured;
  const gain = 0.97;
  beforeAll(async () => {
    one = await measure(flightSettings({ ...stillAir, arm: { gain: [gain, gain, gain], curvature: 0 } }), 3);
  }, 60_000);

  test("path accuracy is the circle's loss of radius, velocity accuracy its loss of speed, and it comes late by the servo's phase", () => {
    const { servoFrequency, servoDamping } = one.flight.settings.arm;
    const { armDelay, period } = one.flight.truth;
    const natural = 2 * Math.PI * servoFrequency;
    const rate = (2 * Math.PI) / period;
    const size = (gain * natural ** 2) / Math.hypot(natural ** 2 - rate ** 2, 2 * servoDamping * natural * rate);
    const arm = one.extras.path!.arm!;
    // the servo's gain shrinks all travel from where the arm rests, the start of the circle: the flown circle has a smaller
    // radius, and its centre lies (1 - gain) of a radius towards the start
    const radius = 0.06 * size;
    const shift = 0.06 * (1 - gain);
    const distances = Array.from({ length: 1000 }, (_, i) => {
      const angle = (2 * Math.PI * i) / 1000;
      return Math.hypot(shift + radius * Math.cos(angle), radius * Math.sin(angle)) - 0.06;
    });
    // the command is told 50 times a second, straight in between: 60 mm (1 - cos(2 pi / 75 / 2)) = 53 um inside its arc; the
    // servo follows those chords, and so does what it is measured against, to a few of them
    expect(Math.abs(arm.contour.rms - rms(distances))).toBeLessThan(6e-5);
    expect(Math.abs(arm.accuracy! - (0.06 - radius + shift))).toBeLessThan(1.2e-4);
    expect(arm.repeatability!).toBeLessThan(1e-4);
    // it comes 59 ms late: the last two of 50 points are reached after the last cycle's end, when the arm already stops
    expect(arm.points).toBe(48);
    expect(Math.abs(arm.contour.behind - armDelay.atCycleRate)).toBeLessThan(1e-3);
    // the chords take 3e-4 of the commanded speed and differ from cycle to cycle
    expect(Math.abs(arm.velocity!.accuracy - (size - 1))).toBeLessThan(1e-3);
    // slopes over 0.1 s of a circle read low by (w span)^2 / 40, 4e-3 (below), commanded and attained alike
    expect(Math.abs(arm.velocity!.commanded - 0.25 * (1 - 0.004))).toBeLessThan(4e-4);
    // slopes over the ten samples that 0.1 s holds reach over 90 ms, more or less: a circle reads low by (w span)^2 / 40,
    // 3.6e-3 to 4.4e-3, the same for the command but not from point to point; three sd of the cycles' means are less than that
    expect(arm.velocity!.repeatability!).toBeLessThan(2.4e-3);
    expect(arm.contour.edge_share).toBe(0);
  });

  test("the spectrum's line at the cycle rate stands as high as a sine of the true amplitude", () => {
    const { arm } = one.extras.spectrum!.subjects;
    for (const axis of ["y", "z"] as const) {
      const { cos, sin } = one.flight.truth.synchronous!.arm[axis];
      const amplitude = Math.hypot(cos[0]!, sin[0]!);
      const line = arm!.harmonics[0]!;
      const bin = arm!.frequency.reduce(
        (best, f, i) => (Math.abs(f - line.frequency) < Math.abs(arm!.frequency[best]! - line.frequency) ? i : best),
        0,
      );
      const height = arm![axis][bin]! / (amplitude ** 2 / (2 * arm!.bandwidth));
      // between bins a Hann window loses up to 1.42 dB (Harris 1978), a factor of 0.72; the start-up adds a little
      expect(height).toBeGreaterThan(0.7);
      expect(height).toBeLessThan(1.05);
      expect(relativeError(line.amplitude[axis]!, amplitude)).toBeLessThan(0.01);
    }
  });
});

test("capture noise alone: the Allan deviation is s / root m, its interval holds that, and m = 1 is s", async () => {
  const { extras, flight } = await measure(
    flightSettings({ ...stillAir, capture: { positionNoise: [2e-4, 3e-4, 4e-4], attitudeNoise: 0 } }),
    8,
  );
  const { tau, ...of } = extras.allan!.vehicle!;
  let held = 0;
  axes.forEach((axis, k) => {
    const sd = flight.truth.noise.vehicle[k]!;
    const { deviation, low, high } = of[axis];
    // 1500 samples, and differences that share one with the next: the sd of it is root(3 / (4 x 1500)) = 2.2 %
    expect(relativeError(deviation[0]!, sd)).toBeLessThan(0.022 * normalLimit(3));
    tau.forEach((time, i) => {
      const expected = sd / Math.sqrt(time / tau[0]!);
      if (low[i]! <= expected && expected <= high[i]!) held++;
    });
  });
  // 95 per cent of 18 x 3, not independent of each other
  expect(held / (3 * tau.length)).toBeGreaterThan(0.85);
  // 100 Hz; hold windows begin 3 s after the last change and end where the arm starts
  expect(relativeError(tau[0]!, 0.01)).toBeLessThan(1e-3);
});

describe("what is written", () => {
  const line: FlightChanges = {
    trajectory: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 12, rampIn: 0 },
  };
  const hold: FlightChanges = { trajectory: { shape: "hold", duration: 40 } };

  test.each([
    ["a circle", {}],
    ["a line", line],
    ["a hold", hold],
    [
      "a circle with gaps in both bodies",
      {
        faults: [
          { kind: "gap", signals: ["effector_pose"], at: 24, seconds: 0.4 },
          { kind: "gap", signals: ["vehicle_pose", "effector_pose"], at: 8, seconds: 0.3 },
        ],
      },
    ],
  ] as const)("%s: passes the schema, is compact, and holds nothing that is not finite", async (_, changes) => {
    const { extras } = await measure(flightSettings(changes as FlightChanges), 21);
    const text = JSON.stringify(runExtrasSchema.parse(extras));
    // a run's part of evaluation.json; 20 of them stay below a megabyte
    expect(text.length).toBeLessThan(45_000);
    for (const spectrum of Object.values(extras.spectrum!.subjects)) {
      expect(spectrum.frequency.length).toBeLessThanOrEqual(200);
      expect(spectrum.x.length).toBe(spectrum.frequency.length);
      expect([...spectrum.x, ...spectrum.y, ...spectrum.z].every((value) => value >= 0)).toBe(true);
    }
  });

  test("a hold has no path and no coherence with cycles, but a budget, a spectrum and a deviation", async () => {
    const { extras } = await measure(flightSettings(hold), 22);
    expect(extras.path).toBeNull();
    expect(extras.spectrum!.window).toBe("hold");
    expect(extras.spectrum!.coherence).toBeNull();
    expect(extras.spectrum!.subjects.vehicle!.harmonics).toEqual([]);
    expect(extras.budget!.window).toBe("hold");
    expect(extras.allan!.effector!.tau.length).toBeGreaterThan(10);
  });

  test("a line there and back: its ends have no direction, the rest of its points count", async () => {
    const { extras } = await measure(flightSettings(line), 23);
    const { effector } = extras.path!;
    expect(effector!.points_of).toBe(50);
    expect(effector!.points).toBeGreaterThan(35);
    expect(effector!.accuracy).not.toBeNull();
    // the servo of 6 Hz answers 0.53 Hz with 0.99 of its travel, some 65 ms late: that is no fluctuation of 0.1 m/s, which
    // it would be if speeds were compared instant by instant
    const { arm } = extras.path!;
    expect(Math.abs(arm!.velocity!.accuracy + 0.01)).toBeLessThan(0.02);
    expect(arm!.velocity!.fluctuation).toBeLessThan(0.04);
    expect(Math.abs(arm!.contour.behind - 0.065)).toBeLessThan(0.01);
  });
});

test("without an effector there is no budget and no coherence; without windows there is nothing", async () => {
  const { aligned, campaign, measures } = await measure(flightSettings(), 31);
  const { vehicle } = aligned.subjects;
  const alone = measureExtras(
    { ...aligned, subjects: { vehicle: vehicle! } },
    campaign,
    campaign.runs[0]!,
    measures.synchronous,
    defaultSettings,
  );
  expect(alone.budget).toBeNull();
  expect(alone.path).toBeNull();
  expect(alone.spectrum!.coherence).toBeNull();
  expect(alone.moving_missing).toMatch(/travel was not captured/);
  const still = { ...aligned, hold: null, cycles: [], period: null };
  const nothing = measureExtras(still, campaign, campaign.runs[0]!, null, defaultSettings);
  expect(nothing).toEqual({
    path: null,
    budget: null,
    allan: null,
    spectrum: null,
    moving: null,
    moving_missing: null,
  });
});
