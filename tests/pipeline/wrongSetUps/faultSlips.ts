import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { quaternionOfVector, turnedBy } from "../../../src/simulation/attitude.ts";
import { loggedTrial } from "./loggedTrial.ts";
import { loggedSlip, slip, type WrongSetUp } from "./setUpTable.ts";
import type { Step } from "./soundCampaign.ts";
import { baseline, candidate, captured, keep, plus, poses, rows, signals, type Which } from "./steps.ts";

const positions = ["x", "y", "z"] as const;

/** The tracker holds the last position between these instants; attitude and stamps go on. */
export const frozenPosition = (from: number, to: number, where: Which): Step =>
  signals(
    ["vehicle_pose"],
    (signal) => {
      const last = Math.max(0, signal.received.seconds.findIndex((time) => time >= from) - 1);
      const held = Object.fromEntries(positions.map((name) => [name, signal.columns[name]![last]!]));
      return rows(signal, (_, seconds) => (seconds >= from && seconds < to ? held : {}));
    },
    where,
  );
const frozenAttitude = (from: number, to: number, where: Which): Step =>
  signals(
    ["vehicle_pose"],
    (signal) => {
      const last = Math.max(0, signal.received.seconds.findIndex((time) => time >= from) - 1);
      const held = Object.fromEntries(["qx", "qy", "qz", "qw"].map((name) => [name, signal.columns[name]![last]!]));
      return rows(signal, (_, seconds) => (seconds >= from && seconds < to ? held : {}));
    },
    where,
  );

/** From this instant on the vehicle leaves, 4 m/s2, and so does its tool. */
export const leaves = (from: number, where: Which): Step =>
  poses(({ position, attitude }, seconds) => {
    const t = Math.max(0, seconds - from);
    return { position: plus(position, [2 * t * t, -0.5 * t * t, 0]), attitude };
  }, where);

/** Moving means over this many samples: what an export's filter makes of the motion. */
const smoothed = (samples: number, where: Which, centred: boolean): Step =>
  signals(
    captured,
    (signal) => {
      const mean = (column: Float64Array): Float64Array =>
        column.map((_, i) => {
          const from = Math.max(0, i - (centred ? samples >> 1 : samples - 1));
          const part = column.subarray(from, Math.min(column.length, i + 1 + (centred ? samples >> 1 : 0)));
          return part.reduce((sum, value) => sum + value, 0) / part.length;
        });
      const columns = { ...signal.columns };
      for (const name of positions) columns[name] = mean(columns[name]!);
      return { ...signal, columns };
    },
    where,
  );

export const noisy = (metres: number, radians: number, where: Which): Step =>
  signals(
    captured,
    (signal, { index }) => {
      const random = seededRandom(31 + index);
      const draw = (sd: number): number => sd * random.normal();
      return rows(signal, ({ x, y, z, qx, qy, qz, qw }) => {
        const by = quaternionOfVector([draw(radians), draw(radians), draw(radians)]);
        const [a, b, c, d] = turnedBy([qx!, qy!, qz!, qw!], by);
        return { x: x! + draw(metres), y: y! + draw(metres), z: z! + draw(metres), qx: a, qy: b, qz: c, qw: d };
      });
    },
    where,
  );

const one =
  (index: number): Which =>
  (run) =>
    run.index === index;
const all: Which = () => true;

export const faultSlips: readonly WrongSetUp[] = [
  slip("the position is frozen for 1.4 s in the candidate's cycles", frozenPosition(12, 13.44, candidate)),
  slip("the position is frozen for 0.8 s in all cycles of one run", frozenPosition(12, 12.8, one(5))),
  loggedSlip(
    "the position is frozen for 1.4 s along a path, in the baseline",
    ...loggedTrial,
    frozenPosition(10, 11.44, baseline),
  ),
  slip("the attitude is frozen for 2 s in the candidate's cycles", frozenAttitude(11, 13, candidate)),
  slip("one of the candidate's flights leaves in the last cycles", leaves(15.5, one(2))),
  loggedSlip("one of the baseline's flights leaves its path", ...loggedTrial, leaves(15, one(0))),
  loggedSlip("the baseline's flights leave their path", ...loggedTrial, leaves(16.5, baseline)),
  slip("the baseline's flights leave in the last cycle", leaves(16.8, baseline)),
  slip("the candidate's capture is filtered over 0.4 s", smoothed(41, candidate, true)),
  slip("the candidate's capture is filtered over 0.1 s and late by half of it", smoothed(10, candidate, false)),
  slip("all captures are filtered over 0.2 s", smoothed(21, all, true)),
  slip("the candidate's capture is ten times as noisy", noisy(0.002, 0.003, candidate)),
  slip("the baseline's capture is ten times as noisy", noisy(0.002, 0.003, baseline)),
  slip(
    "a marker tree shakes at 15 Hz in the candidate's runs",
    poses(
      ({ position, attitude }, seconds) => ({
        position: plus(position, [0, 0.003 * Math.sin(94 * seconds), 0.002 * Math.cos(94 * seconds)]),
        attitude,
      }),
      candidate,
      ["vehicle_pose"],
    ),
  ),
  slip(
    "the vehicle's marker tree shakes sideways at 4 Hz in the candidate's runs",
    poses(
      ({ position, attitude }, seconds) => ({
        position: plus(position, [0, 0.0028 * Math.sin(25 * seconds), 0]),
        attitude,
      }),
      candidate,
      ["vehicle_pose"],
    ),
  ),
  slip(
    "the tool's marker shakes at 5 Hz in the candidate's runs",
    poses(
      ({ position, attitude }, seconds) => ({
        position: plus(position, [0, 0, 0.0028 * Math.sin(31 * seconds)]),
        attitude,
      }),
      candidate,
      ["effector_pose"],
    ),
  ),
  slip(
    "the capture holds each pose for 100 ms",
    signals(captured, (signal) => {
      const names = Object.keys(signal.columns);
      return rows(signal, (_, __, i) =>
        Object.fromEntries(names.map((name) => [name, signal.columns[name]![i - (i % 10)]!])),
      );
    }),
  ),
  slip(
    "the capture is written to the centimetre",
    signals(captured, (signal) =>
      rows(signal, ({ x, y, z }) => ({ x: round(x!, 0.01), y: round(y!, 0.01), z: round(z!, 0.01) })),
    ),
  ),
  slip(
    "the capture is written to the millimetre",
    signals(captured, (signal) =>
      rows(signal, ({ x, y, z }) => ({ x: round(x!, 0.001), y: round(y!, 0.001), z: round(z!, 0.001) })),
    ),
  ),
  slip(
    "a third of the candidate's poses is lost in bursts",
    signals(captured, (signal) => keep(signal, (seconds) => (seconds * 1.7) % 1 > 0.33), candidate),
  ),
  slip("the two bodies change places for 3 s of the candidate's cycles", exchanged(11, 14, candidate)),
  slip(
    "the vehicle's capture creeps by 20 mm a minute",
    poses(({ position, attitude }, seconds) => ({ position: plus(position, [0, 0.02 * (seconds / 60), 0]), attitude })),
  ),
  slip(
    "the capture jumps by 12 mm halfway through the candidate's cycles and stays",
    poses(
      ({ position, attitude }, seconds) => ({ position: plus(position, [0, seconds > 13.5 ? 0.012 : 0, 0]), attitude }),
      candidate,
    ),
  ),
];

const round = (value: number, to: number): number => to * Math.round(value / to);

export function exchanged(from: number, to: number, where: Which): Step {
  return (setUp) => ({
    ...setUp,
    runs: setUp.runs.map((run) => {
      if (!where(run)) return run;
      const [vehicle, tool] = captured.map((name) => run.recording.signals.get(name)!);
      const mixed = (own: typeof vehicle, other: typeof vehicle) =>
        rows(own!, (_, seconds, i) =>
          seconds >= from && seconds < to
            ? Object.fromEntries(Object.keys(own!.columns).map((name) => [name, other!.columns[name]![i]!]))
            : {},
        );
      const held = new Map(run.recording.signals)
        .set("vehicle_pose", mixed(vehicle, tool))
        .set("effector_pose", mixed(tool, vehicle));
      return { ...run, recording: { ...run.recording, signals: held } };
    }),
  });
}
