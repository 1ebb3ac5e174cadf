import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";

/**
 * Sizes that nothing a flight is measured with can give, in SI: positions beyond the Earth, turns of a drill. A wrong unit stays
 * within them, for that is asked about elsewhere; one flipped bit of a number does not.
 */
const largest: Readonly<Record<string, { readonly size: number; readonly unit: string }>> = {
  ...alike(["x", "y", "z"], 1e10, "m"),
  ...alike(["qx", "qy", "qz", "qw"], 1e6, ""),
  ...alike(["roll", "pitch", "yaw"], 1e6, "rad"),
  ...alike(["wx", "wy", "wz"], 1e6, "rad/s"),
  voltage: { size: 1e6, unit: "V" },
  current: { size: 1e6, unit: "A" },
};

function alike(names: readonly string[], size: number, unit: string) {
  return Object.fromEntries(names.map((name) => [name, { size, unit }]));
}

/**
 * A signal without the numbers that are no measurement: they become NaN, which alignment knows for a gap, and are counted.
 *
 * @param signal  in SI; its columns are not changed
 */
export function refuseNonsense(signal: RecordedSignal): { readonly signal: RecordedSignal; readonly checks: Check[] } {
  const checks: Check[] = [];
  const columns = Object.entries(signal.columns).map(([name, column]) => {
    const limit = largest[name];
    const count = limit === undefined ? 0 : beyond(column, limit.size);
    if (limit === undefined || count === 0) return [name, column] as const;
    checks.push({
      code: "gap",
      severity: "doubt",
      message: `${signal.signal}: ${count} of ${column.length} numbers of ${name} are larger than ${limit.size.toExponential(0)} ${limit.unit}, which nothing measures, and were left out`,
      evidence: { signal: signal.signal, topic: signal.topic, column: name, refused: count, numbers: column.length },
      hint: "the log was damaged on its way, or its driver writes a number for what it does not know: copy the log again from the recorder",
    });
    return [name, column.map((value) => (Math.abs(value) > limit.size ? Number.NaN : value))] as const;
  });
  return checks.length === 0
    ? { signal, checks }
    : { signal: { ...signal, columns: Object.fromEntries(columns) }, checks };
}

function beyond(column: Float64Array, size: number): number {
  let count = 0;
  // infinity is what a driver writes for nothing seen, and is known for it
  for (let i = 0; i < column.length; i++) if (Math.abs(column[i]!) > size && Number.isFinite(column[i]!)) count++;
  return count;
}
