import type { Check } from "../../foundation/checks.ts";
import { LogError } from "../../foundation/errors.ts";
import { LogFile } from "../messages/LogPart.ts";
import { frameCount } from "./frameCount.ts";
import { type ByteOrder, byteOrder, type Parameter, readParameters } from "./parameters.ts";
import { pointState, state } from "./pointFields.ts";

/** A point file, read whole: captures have megabytes. */
export interface PointFile {
  readonly path: string;
  readonly bytes: number;
  readonly labels: readonly string[];
  /** as the file writes it; "" where it does not */
  readonly unit: string;
  /** frames per second */
  readonly rate: number;
  readonly frames: number;
  /** x y z of each point of each frame, in the file's unit; NaN where it is missing */
  readonly positions: Float64Array;
  /** of each point of each frame, as `pointState` says */
  readonly states: Uint8Array;
  /** what is damaged */
  readonly notes: readonly string[];
  /** what a sound file leaves open */
  readonly checks: readonly Check[];
}

const block = 512;
/** Larger ones are no capture of a flight. */
const largest = 2 ** 31;

/**
 * Reads a point file: Intel, DEC or MIPS, integers or floating point.
 *
 * Where the fourth word of every point that is there is 0 the writer records no residuals: the points count as measured,
 * which is reported.
 *
 * @source c3d.org, The C3D File Format; byte layouts also in the manual's examples
 * @throws LogError  code `log-unreadable`: cannot be opened, or no whole header and parameters
 */
export function openC3d(path: string): PointFile {
  const file = new LogFile(path);
  try {
    if (file.bytes > largest) throw refused(path, `of ${file.bytes} bytes`);
    const bytes = file.slice(0, file.bytes);
    if (bytes.length < 2 * block) throw refused(path, `of ${bytes.length} bytes`);
    const head = headOf(path, bytes);
    const { parameters, points, rate, start, frameBytes, countedFrames } = head;
    const { frames, notes, checks } = frameCount(parameters, countedFrames, bytes.length - start, frameBytes);
    const { positions, states, silent } = readPoints(head, frames);
    return {
      path,
      bytes: file.bytes,
      labels: labelsOf(parameters, points),
      unit: parameters.get("POINT:UNITS")?.texts[0] ?? "",
      rate,
      frames,
      positions,
      states,
      notes,
      checks: [...head.copies, ...checks, ...(silent > 0 ? [withoutResiduals(silent)] : [])],
    };
  } finally {
    file.close();
  }
}

/** Header and parameters: how the points lie in the file. */
interface PointHead {
  readonly view: DataView;
  readonly order: ByteOrder;
  readonly parameters: ReadonlyMap<string, Parameter>;
  readonly points: number;
  readonly rate: number;
  /** of whole numbers, in the file's unit; negative: floating point */
  readonly scale: number;
  /** where the first frame starts, and how long each is, bytes */
  readonly start: number;
  readonly frameBytes: number;
  /** numbers of the first and the last frame, as the header counts them */
  readonly countedFrames: [number, number];
  readonly copies: readonly Check[];
}

function headOf(path: string, bytes: Uint8Array): PointHead {
  const parametersAt = (bytes[0]! - 1) * block;
  const processor = bytes[parametersAt + 3];
  const order = byteOrder(processor ?? 0);
  if (order === null)
    throw refused(
      path,
      `whose parameters are of no known processor (${processor ?? "none"} at byte ${parametersAt + 3})`,
    );
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const word = (number: number): number => view.getUint16(2 * (number - 1), order.little);
  const parameters = readParameters(bytes.subarray(parametersAt), order);
  const one = (name: string): number | null => parameters.get(name)?.numbers[0] ?? null;
  const points = word(2);
  const scale = one("POINT:SCALE") ?? order.float(view, 12);
  const frameBytes = (scale < 0 ? 4 : 2) * (4 * points + word(3));
  const start = (word(9) > 0 ? word(9) - 1 : ((one("POINT:DATA_START") ?? 0) & 0xffff) - 1) * block;
  const rate = one("POINT:RATE") ?? order.float(view, 20);
  if (points === 0 || start < 0 || frameBytes === 0) throw refused(path, "without points");
  if (!(rate > 0 && rate < 1e5)) throw refused(path, `with a frame rate of ${rate}`);
  if (scale === 0 || !Number.isFinite(scale)) throw refused(path, `with a scale of ${scale}`);
  // floating point numbers are not scaled: the scale's sign alone counts
  const counting = (value: number): number => (scale < 0 ? Math.sign(value) : value);
  const copies = headerCopies([
    { name: "POINT:RATE", parameter: one("POINT:RATE"), header: order.float(view, 20), carries: "all times" },
    {
      name: "POINT:SCALE",
      parameter: counting(scale),
      header: counting(order.float(view, 12)),
      carries: "all places",
    },
  ]);
  const countedFrames: [number, number] = [word(4), word(5)];
  return { view, order, parameters, points, rate, scale, start, frameBytes, countedFrames, copies };
}

/** Places and states of all points of all frames; `silent`: how many readings count as measured for want of any residual. */
function readPoints({ view, order, points, scale, start, frameBytes }: PointHead, frames: number) {
  const floating = scale < 0;
  const width = floating ? 4 : 2;
  const positions = new Float64Array(3 * points * frames).fill(Number.NaN);
  const states = new Uint8Array(points * frames);
  let measured = 0;
  let modelled = 0;
  for (let k = 0; k < points * frames; k++) {
    const at = start + Math.floor(k / points) * frameBytes + (k % points) * 4 * width;
    const last = floating ? order.float(view, at + 12) : view.getInt16(at + 6, order.little);
    const coordinate = (axis: number): number =>
      floating ? order.float(view, at + 4 * axis) : view.getInt16(at + 2 * axis, order.little) * scale;
    const [x, y, z] = [coordinate(0), coordinate(1), coordinate(2)];
    const found = pointState(last, x, y, z);
    if (found === state.missing) continue;
    positions[3 * k] = x;
    positions[3 * k + 1] = y;
    positions[3 * k + 2] = z;
    states[k] = found;
    if (found === state.measured) measured++;
    else modelled++;
  }
  const isSilent = measured === 0 && modelled > 0;
  if (isSilent) for (let k = 0; k < states.length; k++) if (states[k] === state.modelled) states[k] = state.measured;
  return { positions, states, silent: isSilent ? modelled : 0 };
}

function refused(path: string, found: string): LogError {
  return new LogError("log-unreadable", `found a C3D file ${found}, expected a whole one`, {
    place: path,
    hint: "the copy was cut short, or the file was written wrongly: export it again",
  });
}

function withoutResiduals(readings: number): Check {
  return {
    code: "gap",
    severity: "note",
    message: `no point has a residual: points that were filled in cannot be distinguished from measured ones, all ${readings} readings count as measured (but for those at 0 0 0, which are missing)`,
    evidence: { readings },
    hint: "export the capture with its residuals, and switch off gap filling before",
  };
}

/** Labels of all points: LABELS holds 255, LABELS2 and so on the others. Points without one are named by their number. */
function labelsOf(parameters: ReadonlyMap<string, Parameter>, points: number): string[] {
  const labels = ["", 2, 3, 4, 5, 6, 7, 8, 9].flatMap((k) => parameters.get(`POINT:LABELS${k}`)?.texts ?? []);
  return Array.from({ length: points }, (_, k) =>
    labels[k] === undefined || labels[k] === "" ? `#${k + 1}` : labels[k],
  );
}

/** What a file says in its parameters and once more in its header. */
interface Copied {
  readonly name: "POINT:RATE" | "POINT:SCALE";
  readonly parameter: number | null;
  readonly header: number;
  /** what rests on it */
  readonly carries: string;
}

/**
 * Values that have to be the same in the parameters and in the header, and are not: the parameter is believed. A header
 * without a sensible number copies nothing.
 *
 * @source c3d.org, POINT:RATE and POINT:SCALE: the header holds an identical copy
 */
function headerCopies(copies: readonly Copied[]): Check[] {
  return copies.flatMap(({ name, parameter, header, carries }): Check[] => {
    if (parameter === null || !Number.isFinite(header) || header === 0) return [];
    // single precision, whatever it was computed from
    if (Math.abs(header - parameter) <= 1e-6 * Math.abs(parameter)) return [];
    const [inParameter, inHeader] = [parameter, header].map((value) => Number(value.toPrecision(7)));
    return [
      {
        code: "recovered",
        severity: "doubt",
        message: `${name} is ${inParameter}, its copy in the header ${inHeader}: the first is believed, and ${carries} with it`,
        evidence: { parameter: inParameter!, header: inHeader! },
        hint: "export the capture again with software that writes both alike, or verify the value in the capture's settings",
      },
    ];
  });
}
