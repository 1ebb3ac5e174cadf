import type { RecordedSignal } from "../../../src/foundation/recording.ts";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import type { Quaternion, Vector3 } from "../../../src/foundation/units.ts";
import { turn, turnedBy } from "../../../src/simulation/attitude.ts";
import type { Pose } from "../../../src/simulation/placement.ts";
import { keepMessages } from "../../support/simulatedCampaign.ts";
import { toRecording } from "../../support/toRecording.ts";
import type { FiledRun, SetUp, Step } from "./soundCampaign.ts";

/** Steps of which a wrong set-up is made: what logs hold, and what the manifest says. */

export const captured: readonly SignalName[] = ["vehicle_pose", "effector_pose"];
export const onboard: readonly SignalName[] = [
  "vehicle_setpoint",
  "effector_command",
  "vehicle_rate",
  "vehicle_estimate",
  "battery",
];

export type Which = (run: FiledRun) => boolean;
export const candidate: Which = ({ flown }) => flown === "weighted";
export const baseline: Which = ({ flown }) => flown === "bare";
export const secondDay: Which = ({ day }) => day === 2;

/** Each of these runs is changed. */
export const runs =
  (by: (run: FiledRun, setUp: SetUp) => FiledRun, where: Which = () => true): Step =>
  (setUp) => ({ ...setUp, runs: setUp.runs.map((run) => (where(run) ? by(run, setUp) : run)) });

/** These signals of these runs are changed; null leaves a signal out. */
export const signals = (
  names: readonly SignalName[],
  by: (signal: RecordedSignal, run: FiledRun) => RecordedSignal | null,
  where?: Which,
): Step =>
  runs((run) => {
    const changed = [...run.recording.signals.values()]
      .map((signal) => (names.includes(signal.signal) ? by(signal, run) : signal))
      .filter((signal) => signal !== null);
    return withSignals(run, changed);
  }, where);

/** The run with a log that holds these signals. */
export function withSignals(run: FiledRun, held: readonly RecordedSignal[]): FiledRun {
  return { ...run, recording: toRecording({ signals: held }, { file: run.filed.log }) };
}

/** Seconds after the recording's start on the onboard clock at which a message was received: within 10 ms of its instant. */
export function at(signal: RecordedSignal, i: number): number {
  return signal.received.seconds[i]!;
}

/** The columns row by row; `by` gets the row's values by name and its time of receipt. */
export function rows(
  signal: RecordedSignal,
  by: (row: Readonly<Record<string, number>>, seconds: number, i: number) => Readonly<Record<string, number>>,
): RecordedSignal {
  const columns = Object.fromEntries(Object.entries(signal.columns).map(([name, column]) => [name, column.slice()]));
  const names = Object.keys(columns);
  for (let i = 0; i < signal.received.seconds.length; i++) {
    const row = by(Object.fromEntries(names.map((name) => [name, columns[name]![i]!])), at(signal, i), i);
    for (const [name, value] of Object.entries(row)) columns[name]![i] = value;
  }
  return { ...signal, columns };
}

/** Poses (setpoints too), each changed. */
export const poses = (
  by: (pose: Pose, seconds: number) => Pose,
  where?: Which,
  names: readonly SignalName[] = captured,
): Step =>
  signals(
    names,
    (signal) =>
      rows(signal, ({ x, y, z, qx = 0, qy = 0, qz = 0, qw = 1 }, seconds) => {
        const { position, attitude } = by({ position: [x!, y!, z!], attitude: [qx, qy, qz, qw] }, seconds);
        const turned = { qx: attitude[0], qy: attitude[1], qz: attitude[2], qw: attitude[3] };
        const place = { x: position[0], y: position[1], z: position[2] };
        return signal.columns.qx === undefined ? place : { ...place, ...turned };
      }),
    where,
  );

export const plus = (a: Vector3, b: Vector3): Vector3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const times = (factor: number, a: Vector3): Vector3 => [factor * a[0], factor * a[1], factor * a[2]];

/** Positions shifted in the world. */
export const shifted =
  (by: Vector3) =>
  ({ position, attitude }: Pose): Pose => ({ position: plus(position, by), attitude });

/** Everything turned about a point of the world. */
export const turnedAbout =
  (by: Quaternion, centre: Vector3 = [0, 0, 0]) =>
  ({ position, attitude }: Pose): Pose => ({
    position: plus(centre, turn(by, plus(position, times(-1, centre)))),
    attitude: turnedBy(by, attitude),
  });

/** The body's marker frame defined otherwise: turned, and its origin moved, in its own axes. */
export const redefined =
  (by: Quaternion, origin: Vector3 = [0, 0, 0]) =>
  ({ position, attitude }: Pose): Pose => ({
    position: plus(position, turn(attitude, origin)),
    attitude: turnedBy(attitude, by),
  });

/** Stamps changed; `seconds` is about the time of receipt. */
export const stamps = (
  names: readonly SignalName[],
  by: (stamp: number, seconds: number, i: number) => number,
  where?: Which,
): Step =>
  signals(
    names,
    (signal) => ({
      ...signal,
      stamped: {
        epoch: signal.stamped!.epoch,
        seconds: signal.stamped!.seconds.map((stamp, i) => by(stamp, at(signal, i), i)),
      },
    }),
    where,
  );

/** Only the messages that are wanted, by their time of receipt. */
export const keep = (signal: RecordedSignal, wanted: (seconds: number, i: number) => boolean): RecordedSignal =>
  keepMessages(signal, (i) => wanted(at(signal, i), i));

export const everySignal: readonly SignalName[] = [...captured, ...onboard];

/** Nothing recorded but in this stretch, seconds after the start. */
export const recordedOnly = (from: number, to: number, where?: Which): Step =>
  signals(everySignal, (signal) => keep(signal, (seconds) => seconds >= from && seconds < to), where);

/** The manifest otherwise than it should be, as far as the simulation writes it. */
export const declared =
  (by: (plan: SetUp["plan"]) => Partial<SetUp["plan"]>): Step =>
  (setUp) => ({ ...setUp, plan: { ...setUp.plan, ...by(setUp.plan) } });

/** A place of the manifest's text written otherwise. A step that finds nothing to change is a fault of the table. */
export const written =
  (found: string | RegExp, replacement: string): Step =>
  (setUp) => ({
    ...setUp,
    edits: [
      ...setUp.edits,
      (manifest) => {
        const edited = manifest.replace(found, replacement);
        if (edited === manifest) throw new Error(`${found} does not stand in the manifest:\n${manifest}`);
        return edited;
      },
    ],
  });
