import type { Recording } from "../../src/foundation/recording.ts";
import type { Vector3 } from "../../src/foundation/units.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { toRecording } from "../support/toRecording.ts";

/** A simulated flight whose setpoint goes `asked` of time besides, metres, and whose bodies go `followed`. */
export function flownAlong(
  flight: SimulatedFlight,
  asked: (seconds: number) => Vector3,
  followed: (seconds: number) => Vector3,
): Recording {
  const { signals, ...rest } = toRecording(flight);
  const changed = [...signals].map(([name, signal]) => {
    const isBody = name === "vehicle_pose" || name === "effector_pose";
    if (!isBody && name !== "vehicle_setpoint") return [name, signal] as const;
    const ways = Array.from(signal.received.seconds, isBody ? followed : asked);
    const columns = { ...signal.columns };
    for (const [axis, column] of ["x", "y", "z"].entries())
      columns[column] = columns[column]!.map((value, i) => value + ways[i]![axis]!);
    return [name, { ...signal, columns }] as const;
  });
  return { ...rest, signals: new Map(changed) };
}
