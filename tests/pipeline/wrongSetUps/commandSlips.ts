import type { RecordedSignal } from "../../../src/foundation/recording.ts";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import { inverse, turn } from "../../../src/simulation/attitude.ts";
import { loggedTrial } from "./loggedTrial.ts";
import { loggedSlip, slip, type WrongSetUp } from "./setUpTable.ts";
import { type Step, soundFlight } from "./soundCampaign.ts";
import { baseline, declared, keep, plus, rows, runs, signals, times, withSignals, written } from "./steps.ts";

const slower = (names: readonly SignalName[], every: number): Step =>
  signals(names, (signal) => keep(signal, (_, i) => i % every === 0));

const cm = (metres: number): number => Math.round(100 * metres) / 100;

/** One signal read where another is meant. */
export const takenFor = (source: SignalName, role: SignalName): Step =>
  runs((run) => {
    const found = run.recording.signals.get(source)!;
    const kept = [...run.recording.signals.values()].filter(({ signal }) => signal !== role);
    return withSignals(run, [...kept, { ...found, signal: role }]);
  });

export const commandSlips: readonly WrongSetUp[] = [
  slip("the arm's command was logged at 4 Hz", slower(["effector_command"], 12)),
  slip("the arm's command was logged at 7 Hz", slower(["effector_command"], 7)),
  slip(
    "the arm's command was logged at 4 Hz and is said to hold",
    slower(["effector_command"], 12),
    written("frame: arm_base", "frame: arm_base, between: hold"),
  ),
  loggedSlip("the setpoint was logged at 4 Hz", ...loggedTrial, slower(["vehicle_setpoint"], 12)),
  loggedSlip("the setpoint was logged at 2 Hz", ...loggedTrial, slower(["vehicle_setpoint"], 25)),
  loggedSlip(
    "the setpoint is said to hold at 10 Hz",
    ...loggedTrial,
    slower(["vehicle_setpoint"], 5),
    written(/(vehicle_setpoint: \{[^}]*)\}/, "$1, between: hold }"),
  ),
  loggedSlip(
    "the setpoint is logged to the centimetre in the baseline's runs",
    ...loggedTrial,
    signals(
      ["vehicle_setpoint"],
      (signal) => rows(signal, ({ x, y, z }) => ({ x: cm(x!), y: cm(y!), z: cm(z!) })),
      baseline,
    ),
  ),
  loggedSlip(
    "the setpoint is in north, east, down",
    ...loggedTrial,
    signals(["vehicle_setpoint"], (signal) => rows(signal, ({ x, y, z }) => ({ x: y!, y: x!, z: -z! }))),
  ),
  slip(
    "where the arm went is taken for where it was told to go",
    runs((run) => {
      const [vehicle, tool, command] = (["vehicle_pose", "effector_pose", "effector_command"] as const).map(
        (name) => run.recording.signals.get(name)!,
      );
      const read = attained(vehicle!, tool!, command!);
      return withSignals(
        run,
        [...run.recording.signals.values()].map((signal) => (signal === command ? read : signal)),
      );
    }),
  ),
  slip("the estimate is taken for the setpoint", takenFor("vehicle_estimate", "vehicle_setpoint")),
  slip("the setpoint is read from the capture", takenFor("vehicle_pose", "vehicle_setpoint")),
  slip(
    "the estimate is taken for the truth",
    takenFor("vehicle_estimate", "vehicle_pose"),
    declared(({ signals = [] }) => ({
      signals: signals.filter((name) => !name.startsWith("effector")),
      captureClock: "none",
    })),
  ),
  slip(
    "the estimate is taken for the capture's clock partner and the truth alike",
    takenFor("vehicle_estimate", "vehicle_pose"),
    declared(({ signals = [] }) => ({ signals: signals.filter((name) => !name.startsWith("effector")) })),
  ),
  slip(
    "the two bodies are exchanged",
    runs((run) => {
      const names: Partial<Record<SignalName, SignalName>> = {
        vehicle_pose: "effector_pose",
        effector_pose: "vehicle_pose",
      };
      return withSignals(
        run,
        [...run.recording.signals.values()].map((signal) => ({
          ...signal,
          signal: names[signal.signal] ?? signal.signal,
        })),
      );
    }),
  ),
  slip("the vehicle's body is taken for both", takenFor("vehicle_pose", "effector_pose")),
  slip("the tool's body is taken for both", takenFor("effector_pose", "vehicle_pose")),
  slip(
    "the tank wall is taken for the tool",
    signals(["effector_pose"], (signal) =>
      rows(signal, ({ x, y, z }, _, i) => ({
        x: signal.columns.x![0]! + 0.2 + 0.0002 * Math.sin(1.3 * i),
        y: signal.columns.y![0]! + 0.0002 * Math.sin(2.1 * i),
        z: signal.columns.z![0]! + 0.0002 * Math.sin(0.7 * i + (x! + y! + z!)),
      })),
    ),
  ),
  slip(
    "the setpoint was never filled",
    signals(["vehicle_setpoint"], (signal) => rows(signal, () => ({ x: 0, y: 0, z: 0 }))),
  ),
  slip(
    "the arm's command was never filled",
    signals(["effector_command"], (signal) => rows(signal, () => ({ x: 0, y: 0, z: 0 }))),
  ),
  slip(
    "the arm's command is a fixed point",
    signals(["effector_command"], (signal) => rows(signal, () => ({ x: 0.14, y: 0, z: -0.16 }))),
  ),
  loggedSlip(
    "the setpoint is read from the estimate",
    ...loggedTrial,
    takenFor("vehicle_estimate", "vehicle_setpoint"),
  ),
];

/** The tool in the arm's base as it was captured, on the command's topic and clock. */
function attained(vehicle: RecordedSignal, tool: RecordedSignal, command: RecordedSignal): RecordedSignal {
  const { toolPoint, armBase } = soundFlight.frames;
  const column = (signal: RecordedSignal, name: string, i: number): number => signal.columns[name]![i]!;
  const pose = (signal: RecordedSignal, i: number) => ({
    position: [column(signal, "x", i), column(signal, "y", i), column(signal, "z", i)] as const,
    attitude: [
      column(signal, "qx", i),
      column(signal, "qy", i),
      column(signal, "qz", i),
      column(signal, "qw", i),
    ] as const,
  });
  const points = Array.from(vehicle.received.seconds, (_, i) => {
    const [body, end] = [pose(vehicle, i), pose(tool, i)];
    const point = plus(end.position, turn(end.attitude, toolPoint));
    return plus(turn(inverse(body.attitude), plus(point, times(-1, body.position))), times(-1, armBase.translation));
  });
  const true_ = vehicle.received.seconds.map((time) => time - soundFlight.receipt.capture);
  const received = { epoch: command.received.epoch, seconds: true_ };
  const of = (axis: number): Float64Array => Float64Array.from(points, (point) => point[axis]!);
  return { ...command, received, stamped: received, columns: { x: of(0), y: of(1), z: of(2) } };
}
