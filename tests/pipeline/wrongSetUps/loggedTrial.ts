import type { RecordedSignal } from "../../../src/foundation/recording.ts";
import type { Vector3 } from "../../../src/foundation/units.ts";
import { type FiledRun, type Step, soundFlight } from "./soundCampaign.ts";
import { declared, plus, rows, runs, withSignals, written } from "./steps.ts";

/**
 * The same flights along a path that only the log knows: the setpoint wanders about its resting place, and vehicle and tool with it,
 * so that the true errors stay exactly what they were. Judged by the vehicle alone, over all but the first 3 s.
 */
export const loggedTrial: readonly Step[] = [
  declared(() => ({ signals: ["vehicle_pose", "vehicle_setpoint", "vehicle_rate"] })),
  written(/orbit: \{[^}]*\}/, "orbit: { shape: logged }"),
  runs((run) => withSignals(run, [...run.recording.signals.values()].map(alongThePath))),
];

/** Metres from the resting place: up to 0.7 m/s and 0.7 m/s2, as vehicles fly indoors. */
export function path(seconds: number): Vector3 {
  const wave = (size: number, period: number): number => size * Math.sin((2 * Math.PI * seconds) / period);
  return [wave(0.5, 7), wave(0.4, 5), wave(0.1, 6)];
}

function alongThePath(signal: RecordedSignal): RecordedSignal {
  const { signal: name } = signal;
  if (name === "vehicle_setpoint" || name === "vehicle_estimate")
    return moved(signal, (i) => onboardInstant(signal, i));
  if (name === "vehicle_pose" || name === "effector_pose") return moved(signal, (i) => captureInstant(signal, i));
  return signal;
}

function moved(signal: RecordedSignal, instant: (i: number) => number): RecordedSignal {
  return rows(signal, ({ x, y, z }, _, i) => {
    const [px, py, pz] = plus([x!, y!, z!], path(instant(i)));
    return { x: px, y: py, z: pz };
  });
}

/** Seconds after the recording's start: the onboard clock shows them, the capture's after its offset and skew. */
const onboardInstant = (signal: RecordedSignal, i: number): number => signal.stamped!.seconds[i]!;

const { offset, skew } = soundFlight.clock;
function captureInstant(signal: RecordedSignal, i: number): number {
  const since = Number(signal.stamped!.epoch - signal.received.epoch) / 1e9 + signal.stamped!.seconds[i]!;
  return (since - offset) / (1 + skew);
}

/** A climb from the ground (0.6 m below) or a landing on it, while the setpoint stands where it will be, or was. */
export const groundBetween =
  (from: number, to: number) =>
  (run: FiledRun): FiledRun =>
    withSignals(
      run,
      [...run.recording.signals.values()].map((signal) => {
        if (signal.signal !== "vehicle_pose" && signal.signal !== "effector_pose") return signal;
        return rows(signal, ({ z }, seconds) => {
          // 1 in the air, 0 on the ground, at rest at both ends; a landing where `to` comes before `from`
          const u = Math.min(1, Math.max(0, (seconds - from) / (to - from)));
          return { z: z! - 0.6 * (1 - u * u * (3 - 2 * u)) };
        });
      }),
    );
