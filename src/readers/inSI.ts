import { unitFactor } from "../contract/manifest/quantity.ts";
import type { RecordedSignal, SignalRequest } from "../foundation/recording.ts";
import { quaternionFromEuler } from "../numeric/quaternion.ts";

/** Groups of `units` by column, with the SI unit and what it is called where it has to be assumed. */
const groups: Readonly<Record<string, { readonly keys: readonly string[]; readonly si: string }>> = {
  ...shared(["x", "y", "z"], ["position"], "m"),
  ...shared(["roll", "pitch", "yaw"], ["angle", "attitude"], "rad"),
  ...shared(["wx", "wy", "wz"], ["rate"], "rad/s"),
  voltage: { keys: ["voltage"], si: "V" },
  current: { keys: ["current"], si: "A" },
};

function shared(columns: readonly string[], keys: readonly string[], si: string) {
  return Object.fromEntries(columns.map((column) => [column, { keys, si }]));
}

/** Spelled as headings do, for the units that mathjs calls otherwise. */
const spellings: Readonly<Record<string, string>> = {
  "-": "1",
  seconds: "s",
  second: "s",
  secs: "s",
  degrees: "deg",
  degree: "deg",
  radians: "rad",
  "°/s": "deg/s",
  dps: "deg/s",
  radps: "rad/s",
  msec: "ms",
  usec: "us",
  nsec: "ns",
  millimetres: "mm",
  millimeters: "mm",
  millimetre: "mm",
  millimeter: "mm",
  centimetres: "cm",
  centimeters: "cm",
  metres: "m",
  meters: "m",
  metre: "m",
  meter: "m",
};

/** SI per unit as a heading or a manifest writes it; null where there is no such unit. */
export function factorOf(unit: string): number | null {
  const name = unitName(unit);
  return name === null ? null : unitFactor(name)!.factor;
}

/**
 * A heading's unit as a manifest may write it; null where there is no such unit.
 *
 * @example unitName("Millimeters") // => "mm"
 */
export function unitName(unit: string): string | null {
  const name = spelled(unit);
  return [name, name.toLowerCase()].find((each) => unitFactor(each) !== null) ?? null;
}

function spelled(unit: string): string {
  const plain = unit.trim();
  return spellings[plain.toLowerCase()] ?? plain;
}

/** As `factorOf`, but null for the unit of something else than `si` measures. */
export function factorIn(unit: string, si: string): number | null {
  const factor = factorOf(unit);
  const [found, wanted] = [unitName(unit), si].map((each) => (each === null ? null : unitFactor(each)));
  return found && wanted && found.dimensions.every((power, k) => power === wanted.dimensions[k]) ? factor : null;
}

/**
 * A signal in SI: each column by the unit that the manifest declares, else by the one that the log's heading writes, else
 * as it stands, which is said. Roll, pitch and yaw of a measured pose become a quaternion.
 *
 * The columns handed in are not changed.
 */
export function inSI(signal: RecordedSignal, request: SignalRequest): RecordedSignal {
  if (signal.si === true) return signal;
  const notes = [...(signal.notes ?? [])];
  const assumed: Record<string, string[]> = {};
  const columns: Record<string, Float64Array> = {};
  for (const [name, column] of Object.entries(signal.columns)) {
    const group = groups[name];
    const declared = declaredUnit(request, name);
    const written = signal.units?.[name] ?? null;
    const read = group === undefined || written === null ? null : factorIn(written, group.si);
    const factor = declared !== null ? factorOf(declared) : read;
    if (written !== null && group !== undefined && read === null && declared === null && factorOf(written) !== null)
      notes.push(`the heading says ${written} for ${nameOf(request, name)}, which is no unit of ${name}`);
    if (declared !== null && written !== null && differ(factorOf(declared), factorOf(written)))
      notes.push(
        `the heading says ${written} for ${nameOf(request, name)}, the manifest ${declared}: taken for ${declared}`,
      );
    if (factor === null && group !== undefined && signal.units !== undefined) {
      const members = assumed[group.si] ?? [];
      assumed[group.si] = members;
      members.push(nameOf(request, name));
    }
    columns[name] =
      factor === null || factor === 1 || group === undefined ? column : column.map((value) => value * factor);
  }
  for (const [unit, names] of Object.entries(assumed))
    notes.push(`nothing says the unit of ${names.join(", ")}: taken for ${unit}`);
  return { ...signal, columns: withQuaternion(signal, columns), ...(notes.length > 0 ? { notes } : {}) };
}

/** The unit that the manifest declares for a column of a signal, by its name or for its kind; null where it declares none. */
export function declaredUnit({ units }: Pick<SignalRequest, "units">, column: string): string | null {
  return units?.[column] ?? groups[column]?.keys.map((key) => units?.[key]).find(Boolean) ?? null;
}

function differ(a: number | null, b: number | null): boolean {
  return a !== null && b !== null && Math.abs(a - b) > 1e-12 * Math.abs(b);
}

function nameOf(request: SignalRequest, role: string): string {
  return request.columns?.[role] ?? request.fields?.[role] ?? role;
}

const measured: readonly string[] = ["vehicle_pose", "effector_pose", "vehicle_estimate"];

/** Commands keep their angles: what is masked in them is a statement. */
function withQuaternion(
  { signal }: RecordedSignal,
  columns: Readonly<Record<string, Float64Array>>,
): Readonly<Record<string, Float64Array>> {
  const { roll, pitch, yaw } = columns;
  if (columns.qw !== undefined || yaw === undefined) return columns;
  const whole = roll !== undefined && pitch !== undefined;
  // of a yaw alone it is level; that the tilt is not known is reported where something rests on it
  if (!whole && !measured.includes(signal)) return columns;
  const [qx, qy, qz, qw] = [0, 1, 2, 3].map(() => new Float64Array(yaw.length));
  for (let i = 0; i < yaw.length; i++) {
    const q = quaternionFromEuler(whole ? roll[i]! : 0, whole ? pitch[i]! : 0, yaw[i]!);
    qx![i] = q[0];
    qy![i] = q[1];
    qz![i] = q[2];
    qw![i] = q[3];
  }
  return { ...columns, qx: qx!, qy: qy!, qz: qz!, qw: qw! };
}
