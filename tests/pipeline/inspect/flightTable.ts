import type { RecordedSignal } from "../../../src/foundation/recording.ts";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import { eulerFromQuaternion } from "../../../src/numeric/quaternion.ts";
import type { SimulatedFlight } from "../../../src/simulation/simulateFlight.ts";

/** Numbers of a table per SI unit: 39.37 for lengths in inches. */
interface TableUnits {
  readonly time?: number;
  readonly length?: number;
  readonly rate?: number;
  /** roll, pitch and yaw, per radian, in place of a quaternion */
  readonly euler?: number;
}

/**
 * Signals of a simulated flight in one table whose headings say no unit, at the instants of the first, each of the others at its
 * last message before. Time counts from the first row.
 */
export function flightTable(
  { signals }: SimulatedFlight,
  names: readonly SignalName[],
  units: TableUnits = {},
): string {
  const { time = 1, length = 1, rate = 1, euler } = units;
  const found = names.map((name) => signals.find(({ signal }) => signal === name)!);
  const at = found[0]!.stamped!.seconds;
  const columns = found.flatMap((signal): [string, number[]][] => {
    const rows = lastBefore(signal, at);
    const of = (column: string, per: number): [string, number[]] => [
      `${signal.signal}_${column}`,
      rows.map((i) => per * signal.columns[column]![i]!),
    ];
    if (signal.columns.wx !== undefined) return (["wx", "wy", "wz"] as const).map((name) => of(name, rate));
    const places = (["x", "y", "z"] as const).map((name) => of(name, length));
    if (signal.columns.qw === undefined) return places;
    if (euler === undefined) return [...places, ...(["qx", "qy", "qz", "qw"] as const).map((name) => of(name, 1))];
    const turns = rows.map((i) =>
      eulerFromQuaternion([
        signal.columns.qx![i]!,
        signal.columns.qy![i]!,
        signal.columns.qz![i]!,
        signal.columns.qw![i]!,
      ]),
    );
    return [
      ...places,
      ...(["roll", "pitch", "yaw"] as const).map((name): [string, number[]] => [
        `${signal.signal}_${name}`,
        turns.map((turn) => euler * turn[name]),
      ]),
    ];
  });
  const heading = ["time", ...columns.map(([name]) => name)].join(",");
  const rows = Array.from(at, (second, k) =>
    [
      (time * (second - at[0]!)).toFixed(time > 1000 ? 0 : 5),
      ...columns.map(([, column]) => column[k]!.toFixed(6)),
    ].join(","),
  );
  return `${heading}\n${rows.join("\n")}\n`;
}

function lastBefore({ stamped }: RecordedSignal, at: Float64Array): number[] {
  const times = stamped!.seconds;
  let last = 0;
  return Array.from(at, (second) => {
    while (last + 1 < times.length && times[last + 1]! <= second + 1e-9) last++;
    return last;
  });
}
