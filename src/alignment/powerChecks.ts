import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { SignalName, Window } from "../foundation/tracks.ts";
import type { PreparedSignal } from "./timedSignals.ts";

/** Checks of battery and motors over the scored window, where they were logged. */
export function powerChecks(
  prepared: ReadonlyMap<SignalName, PreparedSignal>,
  onRun: (signal: PreparedSignal, t: Float64Array) => Float64Array,
  scored: Window | null,
  settings: Settings,
): Check[] {
  if (scored === null) return [];
  const battery = prepared.get("battery");
  const motors = prepared.get("motors");
  const rowsOf = (signal: PreparedSignal): number[] => {
    const rows: number[] = [];
    onRun(signal, signal.timeline.t).forEach((at, i) => {
      if (at >= scored[0] && at < scored[1]) rows.push(signal.timeline.order[i]!);
    });
    return rows;
  };
  return [
    ...(battery ? sagCheck(battery, rowsOf(battery), settings) : []),
    ...(motors ? saturationCheck(motors, rowsOf(motors), settings) : []),
  ];
}

function sagCheck(battery: PreparedSignal, rows: readonly number[], settings: Settings): Check[] {
  const voltage = battery.signal.columns.voltage;
  const values = rows.map((row) => voltage?.[row] ?? Number.NaN).filter((value) => Number.isFinite(value) && value > 0);
  if (values.length < 2) return [];
  const first = values[0]!;
  const lowest = Math.min(...values);
  const cells = rows.map((row) => battery.signal.columns.cells?.[row] ?? 0).find((count) => count > 0) ?? null;
  const perCell = cells === null ? null : lowest / cells;
  const lost = (first - lowest) / first;
  if (!(lost > settings.sag_share || (perCell !== null && perCell < settings.sag_cell_voltage))) return [];
  return [
    {
      code: "sag",
      severity: "doubt",
      message: `the battery falls from ${first.toFixed(2)} V to ${lowest.toFixed(2)} V within the scored window${perCell === null ? "" : ` (${perCell.toFixed(2)} V a cell)`}`,
      evidence: { first_v: first, lowest_v: lowest, lost_share: lost, cells, lowest_per_cell_v: perCell },
      hint: "the same command gives less thrust at lower voltage: fly both configurations from packs in the same state, and land earlier",
    },
  ];
}

function saturationCheck(motors: PreparedSignal, rows: readonly number[], settings: Settings): Check[] {
  const columns = outputColumns(motors.signal);
  if (columns.length === 0 || rows.length === 0) return [];
  let highest = 0;
  for (const column of columns) for (const row of rows) if (column[row]! > highest) highest = column[row]!;
  const scale = fullScale(highest);
  if (scale === null) {
    return [
      {
        code: "saturated",
        severity: "note",
        message: `motor outputs of ${motors.signal.topic} reach ${highest}: neither a share of full nor a pulse in microseconds; saturation was not judged`,
        evidence: { topic: motors.signal.topic, highest },
        hint: "log motor outputs as 0 to 1, or as servo pulses of 1000 to 2000 us",
      },
    ];
  }
  let full = 0;
  for (const row of rows) {
    if (columns.some((column) => (column[row]! - scale.idle) / (scale.full - scale.idle) > settings.saturated_output))
      full++;
  }
  const share = full / rows.length;
  if (share <= settings.saturated_share) return [];
  return [
    {
      code: "saturated",
      severity: "doubt",
      message: `a motor runs at full output in ${(100 * share).toFixed(1)} % of the scored window`,
      evidence: { share, full_scale: scale.full, samples: rows.length },
      hint: "the vehicle has no thrust left to correct with: lighten it or fly slower; a heavier configuration is then judged by its motors, not by its balance",
    },
  ];
}

/** The columns of a signal that are outputs of motors. */
export function outputColumns({ columns }: Pick<RecordedSignal, "columns">): Float64Array[] {
  return Object.entries(columns).flatMap(([name, column]) => (/^m\d+$/.test(name) ? [column] : []));
}

/** What counts as idle and full: a share (0 to 1) or a servo pulse (1000 to 2000 us). Null where it is neither. */
export function fullScale(highest: number): { idle: number; full: number } | null {
  if (highest <= 1.001) return { idle: 0, full: 1 };
  if (highest > 900 && highest <= 2200) return { idle: 1000, full: 2000 };
  return null;
}
