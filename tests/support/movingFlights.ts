import { movingEffects } from "../../src/comparison/moving/movingEffects.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { type ArmMotion, movingMoment } from "../../src/metrics/movingMoment.ts";
import { type SeededRandom, seededRandom } from "../../src/numeric/seededRandom.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges, FlightSettings } from "../../src/simulation/flightShape.ts";
import { fly } from "../../src/simulation/motion.ts";
import { toolInVehicle } from "../../src/simulation/placement.ts";
import { varyRun } from "../../src/simulation/simulateFlight.ts";
import { timelineOf } from "../../src/simulation/timeline.ts";
import { inventedCampaign } from "./inventedCampaign.ts";
import { inventedRun } from "./inventedEvaluation.ts";

const counterweights = [0.02, -0.02].map((z) => ({ mass: 0.27, at: [-0.14, 0, z] as const }));
const base = flightSettings({
  timeline: { hold: 3, pause: 0.5, rest: 0.2, takeOff: false },
  trajectory: { shape: "circle", plane: "xy", radius: 0.06, speed: 0.25, cycles: 8, rampIn: 0 },
  air: { force: [0.38, 0.25, 0.2], torque: [0.12, 0.12, 0.04] },
  between: { gain: 0.08, air: 0.12, arm: 0.05, bias: 0, slope: 0 },
});
/** 560 g move with the arm alone; the weights leave 15 % along x and 25 % along y */
export const left = { x: 0.15, y: 0.25 } as const;
export const alone = 0.56;
const travel = [-0.85, -0.75, 0].map((part) => (part * alone) / 0.54) as unknown as readonly [number, number, number];
/** A flight of eight circles, given what differs from `base`; with the weights where `heavy`. */
export function settingsOf(heavy: boolean, changes: FlightChanges = {}): FlightSettings {
  const own = flightSettings(changes, base);
  return heavy ? flightSettings({ counterweights, balance: [0.85, 0.75, 0] }, own) : own;
}
const filed = {
  vehicle: { mass: 4.6, maxThrust: null, rotors: null, rotorDiameter: null },
  parts: [{ name: "arm", mass: 0.7, at: null, travel: [0.8, 0.8, 0.8], function: null }],
  configurations: {
    bare: { label: "bare", addedMass: null, counterweights: [] },
    weighted: { label: "weighted", addedMass: 0.54, counterweights: counterweights.map((one) => ({ ...one, travel })) },
  },
} as const;

/** What a fault of the set-up does to what was captured. */
export type Fault = (motion: ArmMotion) => ArmMotion;

/** What the capture sees of one simulated flight at 100 Hz, with its noise. */
export interface SeenFlight {
  readonly id: string;
  readonly heavy: boolean;
  readonly motion: ArmMotion;
  readonly cycleStart: number;
  readonly period: number;
  readonly cycles: number;
}

export function seenFlight(id: string, heavy: boolean, seed: number, changes: FlightChanges = {}): SeenFlight {
  const settings = varyRun(settingsOf(heavy, changes), seed);
  const timeline = timelineOf(settings);
  const { full } = fly(settings, timeline, seed);
  const random = seededRandom(seed);
  const t = Float64Array.from({ length: Math.floor(100 * timeline.end) }, (_, i) => i / 100);
  const now = Array.from(t, (time) => full.at(time));
  const { positionNoise, attitudeNoise } = settings.capture;
  const column = (of: (one: (typeof now)[number]) => number, sd: number): Float64Array =>
    Float64Array.from(now, (one) => of(one) + sd * random.normal());
  const tool = (axis: 0 | 1) => column((one) => toolInVehicle(settings, one.tool)[axis], positionNoise[axis]);
  const motion: ArmMotion = {
    t,
    x: column(({ position }) => position[0], positionNoise[0]),
    y: column(({ position }) => position[1], positionNoise[1]),
    qx: column(({ attitude }) => attitude[0], attitudeNoise / 2),
    qy: column(({ attitude }) => attitude[1], attitudeNoise / 2),
    qz: column(({ attitude }) => attitude[2], attitudeNoise / 2),
    qw: column(({ attitude }) => attitude[3], 0),
    sx: tool(0),
    sy: tool(1),
  };
  const { cycleStart, period, cycles } = timeline;
  return { id, heavy, motion, cycleStart, period, cycles };
}

/** What moves in a flight, its capture with a fault. */
export function movingRun({ id, heavy, motion, cycleStart, period, cycles }: SeenFlight, fault: Fault): RunEvaluation {
  const found = movingMoment(
    fault(motion),
    Array.from({ length: cycles }, (_, k) => [cycleStart + k * period, cycleStart + (k + 1) * period] as const),
    { harmonics: 5, neighbours: 8, leastCycles: 5, leastTravel: 0.005, gapShare: 0.1, tiltRatio: 1.1 },
  )!;
  const mass = heavy ? 5.14 : 4.6;
  const along = (axis: "x" | "y") =>
    found[axis].map(({ k, travel: swing, travelVariance, tilt, tiltVariance, apparent, variance }) => ({
      k,
      travel: [...swing] as [number, number],
      travel_variance: travelVariance,
      tilt: [...tilt] as [number, number],
      tilt_variance: tiltVariance,
      moment: null,
      apparent_mass: [mass * apparent[0], mass * apparent[1]] as [number, number],
      cov: null,
      share: [...apparent] as [number, number],
      share_variance: variance,
    }));
  return {
    ...inventedRun({ id }),
    configuration: heavy ? "weighted" : "bare",
    period,
    moving: { x: along("x"), y: along("y"), cycles: found.cycles, mass, com: { at: [0, 0, 0], source: "declared" } },
  };
}

const sound: Fault = (motion) => motion;

/** Four flights of either configuration. */
export function seenFlights(random: SeededRandom, changes: FlightChanges = {}): SeenFlight[] {
  return [0, 1, 2, 3].flatMap((i) =>
    [false, true].map((heavy) => seenFlight(`${heavy}-${i}`, heavy, Math.floor(random.uniform() * 2 ** 31), changes)),
  );
}
export function campaignOf(random: SeededRandom, fault: Fault = sound): RunEvaluation[] {
  return seenFlights(random).map((flight) => movingRun(flight, fault));
}
export const judged = (runs: RunEvaluation[], declared: Parameters<typeof inventedCampaign>[1] = filed) =>
  movingEffects(inventedCampaign(runs, declared), runs, defaultSettings);
/** The same weights of which nobody says how they travel: what a gram takes away is then known from the flights alone. */
export const undeclared = {
  ...filed,
  configurations: { ...filed.configurations, weighted: { ...filed.configurations.weighted, counterweights } },
};
