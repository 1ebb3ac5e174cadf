import type { Vector3 } from "../src/foundation/units.ts";
import type { CarriedMass } from "../src/simulation/benchStand.ts";
import type { Fault } from "../src/simulation/faults.ts";
import { flightSettings } from "../src/simulation/flightSettings.ts";
import type { FlightSettings, FlownTrajectory } from "../src/simulation/flightShape.ts";
import type { CampaignPlan, PlannedRun } from "../src/simulation/manifestFor.ts";

/** One flight of the sample campaign: what is flown (not what it is filed under), and its seed. */
export interface SampleFlight {
  readonly run: PlannedRun;
  readonly settings: FlightSettings;
  readonly seed: number;
}

const trajectories: Record<string, FlownTrajectory> = {
  orbit: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 12, rampIn: 0 },
  reach: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 10, rampIn: 0 },
};

const counterweights: FlightSettings["counterweights"] = [
  { mass: 0.27, at: [-0.14, 0, 0.02] },
  { mass: 0.27, at: [-0.14, 0, -0.02] },
];
/** the linkage carries the weights against the arm nearly wholly along x, by half along y, not at all along z */
const balance: Vector3 = [0.95, 0.5, 0];

const base = flightSettings({
  timeline: { hold: 17.5, pause: 1, rest: 1.5 },
  vehicle: {
    horizontalLoop: { frequency: 0.75, damping: 0.65, integral: 0.4 },
    attitudeLoop: { frequency: 4.5, damping: 0.8, integral: 0 },
  },
  arm: { movingMass: 0.85, massFraction: 0.8, servoFrequency: 7, transportDelay: 0.015 },
  // a fan-driven room: slow along the wall's normal (x), less across, least up and down
  air: { force: [0.38, 0.25, 0.2], forceTime: 0.8, torque: [0.12, 0.12, 0.04], torqueTime: 0.12 },
  between: { gain: 0.08, air: 0.12, arm: 0.05, bias: 0.0015, slope: 0.00004 },
});

interface Day {
  readonly block: string;
  /** first take-off, UTC */
  readonly firstStart: string;
  /** the air of the day against the settings' */
  readonly air: number;
  /** trajectory and configuration in the order flown: pairs, turned about so that neither configuration always comes first */
  readonly order: readonly (readonly ["orbit" | "reach", "bare" | "weighted"])[];
}

const days: readonly Day[] = [
  {
    block: "day1",
    firstStart: "2025-10-14T08:10:00Z",
    air: 1,
    order: [
      ["orbit", "bare"],
      ["orbit", "weighted"],
      ["reach", "weighted"],
      ["reach", "bare"],
      ["orbit", "weighted"],
      ["orbit", "bare"],
      ["reach", "bare"],
      ["reach", "weighted"],
      ["orbit", "weighted"],
      ["orbit", "bare"],
      ["reach", "weighted"],
      ["reach", "bare"],
    ],
  },
  {
    block: "day2",
    firstStart: "2025-10-16T08:25:00Z",
    air: 1.12,
    order: [
      ["reach", "bare"],
      ["reach", "weighted"],
      ["orbit", "weighted"],
      ["orbit", "bare"],
      ["reach", "weighted"],
      ["reach", "bare"],
      ["orbit", "bare"],
      ["orbit", "weighted"],
    ],
  },
];

/** What is wrong with which flight (counted from 1), seconds after the recording's start. */
const faults: Readonly<Record<number, readonly Fault[]>> = {
  // the airframe's markers were lost by the capture, which went on sending its last pose
  5: [{ kind: "frozen", signal: "vehicle_pose", at: 24.3, seconds: 3.1 }],
  // a person stood in front of a camera
  18: [{ kind: "gap", signals: ["vehicle_pose", "effector_pose"], at: 29.4, seconds: 0.6 }],
};
/** Flight 7 was filed as `reach` but flew `orbit`. */
const flownInstead: Readonly<Record<number, string>> = { 7: "orbit" };

/** Seed of the whole sample; flight k has seed + k. */
export const sampleSeed = 20251000;

/** All flights in the order flown. */
export function sampleFlights(): SampleFlight[] {
  let number = 0;
  return days.flatMap((day) =>
    day.order.map(([trajectory, configuration], place): SampleFlight => {
      number++;
      const weighted = configuration === "weighted";
      // ten minutes from take-off to take-off, a few more where counterweights are changed
      const started = Date.parse(day.firstStart) + place * 11 * 60_000 + ((number * 37) % 90) * 1000;
      const mass = base.vehicle.mass + (weighted ? 0.54 : 0);
      // a swab more or less, and water in it: weighed to 5 g
      const weighed = Math.round((mass + 0.004 * (((number * 7) % 5) - 2)) * 200) / 200;
      const scale = (value: Vector3): Vector3 => [value[0] * day.air, value[1] * day.air, value[2] * day.air];
      return {
        run: {
          log: `flight-${String(number).padStart(2, "0")}.bag`,
          configuration,
          trajectory,
          block: day.block,
          battery: `pack-${"ABCD"[Math.floor(number / 2) % 4]}`,
          takeoffMass: weighed,
          started: new Date(started).toISOString().replace(".000Z", "Z"),
        },
        settings: flightSettings(
          {
            start: BigInt(started) * 1_000_000n + BigInt((number * 7919) % 1000) * 1_000_003n,
            trajectory: trajectories[flownInstead[number] ?? trajectory]!,
            counterweights: weighted ? counterweights : [],
            balance: weighted ? balance : [0, 0, 0],
            air: { force: scale(base.air.force), torque: scale(base.air.torque) },
            // the capture server is restarted every morning and drifts against the vehicle all day
            clock: { offset: (day.block === "day1" ? -0.137 : 0.082) + place * 11 * 60 * 20e-6, skew: 20e-6 },
            faults: faults[number] ?? [],
          },
          base,
        ),
        seed: sampleSeed + number,
      };
    }),
  );
}

/** Static captures: before the first flight and after the last one. */
export const sampleStatics = [
  { log: "static-before.bag", start: "2025-10-14T07:52:00Z", seed: sampleSeed + 101 },
  { log: "static-after.bag", start: "2025-10-16T10:20:00Z", seed: sampleSeed + 102 },
].map(({ log, start, seed }) => ({
  log,
  seed,
  settings: flightSettings({ start: BigInt(Date.parse(start)) * 1_000_000n }, base),
}));

export function samplePlan(flights: readonly SampleFlight[]): CampaignPlan {
  return {
    title: "Tank-wall swab arm, autumn trials",
    baseline: "bare",
    candidate: "weighted",
    smallestDifference: 0.0015,
    flight: base,
    configurations: {
      bare: { label: "Arm alone" },
      weighted: {
        label: "Counterweights fitted",
        counterweights: counterweights.map((weight) => ({ ...weight, travel: travelOf() })),
      },
    },
    parts: [{ name: "arm", mass: base.arm.movingMass, travel: base.arm.massFraction }],
    trajectories,
    staticCaptures: sampleStatics.map(({ log }) => log),
    runs: flights.map(({ run }) => run),
  };
}

/** What the weights travel per travel of the tool, to three decimals: together they cancel `balance` of what the arm moves. */
function travelOf(): Vector3 {
  const moving = base.arm.movingMass * base.arm.massFraction;
  const weights = counterweights.reduce((sum, { mass }) => sum + mass, 0);
  const along = (part: number): number => -Math.round((1000 * part * moving) / weights) / 1000 || 0;
  return [along(balance[0]), along(balance[1]), along(balance[2])];
}

/** The masses that the arm carries about, at their places in the arm base: the same arm on the bench as in flight. */
export function sampleArm(weighted: boolean): CarriedMass[] {
  const { movingMass, massFraction: part } = base.arm;
  const [x, y, z] = base.frames.armBase.translation;
  return [
    { mass: movingMass, at: [0.04, 0, -0.08], travel: [part, part, part] },
    ...(weighted
      ? counterweights.map(({ mass, at }) => ({
          mass,
          at: [at[0] - x, at[1] - y, at[2] - z] as Vector3,
          travel: travelOf(),
        }))
      : []),
  ];
}
