import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Subject } from "../../foundation/signals.ts";
import type { Window } from "../../foundation/tracks.ts";
import { lowerBound } from "../../numeric/lowerBound.ts";
import { samplePoints } from "../sampleTrack.ts";
import type { SubjectTrack } from "../subjectTracks.ts";
import { axisReadings, type CrossSums, determinant, readingText, unexplained } from "./axisReadings.ts";

/** Response delays that are tried, seconds: the same range as that of the delay itself. */
const delays = Array.from({ length: 25 }, (_, k) => (k <= 20 ? 0.05 * k : 0.05 * (20 - k)));
const mostSamples = 600;
/** A command that moves less than this (standard deviation over its axes) shows no direction, metres. */
const leastMotion = 0.02;

/**
 * Whether the subject moves where it was told to go. Where its own axes leave most of the motion unexplained at any delay,
 * but renamed or reversed ones explain nearly all of it, the capture or the command is in other axes. A mean that is off
 * (another origin) plays no part.
 */
export function directionCheck(
  subject: Subject,
  { t, measured, command }: SubjectTrack,
  scored: Window | null,
  settings: Settings,
): Check[] {
  const from = scored === null ? 0 : lowerBound(t, scored[0]);
  const to = scored === null ? t.length : lowerBound(t, scored[1]);
  const stride = Math.max(1, Math.ceil((to - from) / mostSamples));
  const rows = Uint32Array.from({ length: Math.max(0, Math.floor((to - from) / stride)) }, (_, k) => from + k * stride);
  if (rows.length < 50) return [];
  const at = Float64Array.from(rows, (row) => t[row]!);
  const own = [measured.x, measured.y, measured.z].map((column) => Float64Array.from(rows, (row) => column[row]!));
  const sumsAt = (delay: number): CrossSums | null => {
    const { x, y, z } = samplePoints(command, at, -delay);
    const sums = crossSums(own, [x, y, z]);
    if (sums === null) return null;
    const motion = Math.sqrt((sums.second[0] + sums.second[1] + sums.second[2]) / rows.length);
    return motion < leastMotion ? null : sums;
  };
  let straight = Number.POSITIVE_INFINITY;
  const found: CrossSums[] = [];
  for (const delay of delays) {
    const sums = sumsAt(delay);
    if (sums === null) continue;
    found.push(sums);
    straight = Math.min(straight, unexplained(sums, axisReadings[0]!));
    // nearly every run ends here, at the first delays
    if (straight <= settings.direction_unexplained) return [];
  }
  let best = { left: Number.POSITIVE_INFINITY, reading: axisReadings[0]! };
  for (const sums of found)
    for (const reading of axisReadings.slice(1)) {
      const left = unexplained(sums, reading);
      // of readings that explain equally much the one that changes least: it comes first
      if (left < best.left - 1e-3) best = { left, reading };
    }
  if (!(straight > settings.direction_unexplained && best.left < settings.direction_explained)) return [];
  const mirrored = determinant(best.reading) < 0;
  return [
    {
      code: "frame-suspect",
      severity: "unusable",
      message: `the ${subject} does not move where it was asked to go: ${(100 * Math.min(1, straight)).toFixed(0)} % of the motion is unexplained, but with the command's axes read otherwise (${readingText(best.reading)}) only ${(100 * best.left).toFixed(1)} %${mirrored ? "; such axes are mirrored (left-handed): no turn can do that" : ""}`,
      evidence: {
        subject,
        unexplained: straight,
        unexplained_if_read_so: best.left,
        reading: readingText(best.reading),
        determinant: determinant(best.reading),
      },
      hint: "look at the axes of the capture and of the command (`axes`, `frames: world: up`, `frames: onboard`), and at the order and signs of the columns; nothing was turned",
    },
  ];
}

function crossSums(a: readonly Float64Array[], b: readonly Float64Array[]): CrossSums | null {
  const n = a[0]!.length;
  const known: number[] = [];
  for (let i = 0; i < n; i++) if (Number.isFinite(b[0]![i]! + b[1]![i]! + b[2]![i]!)) known.push(i);
  if (known.length < 50) return null;
  const mean = (column: Float64Array): number => known.reduce((sum, i) => sum + column[i]!, 0) / known.length;
  const meansA = a.map(mean);
  const meansB = b.map(mean);
  const dot = (p: Float64Array, mp: number, q: Float64Array, mq: number): number => {
    let sum = 0;
    for (const i of known) sum += (p[i]! - mp) * (q[i]! - mq);
    return sum;
  };
  const squares = (columns: readonly Float64Array[], means: readonly number[]): [number, number, number] => {
    const [x, y, z] = columns.map((column, k) => dot(column, means[k]!, column, means[k]!));
    return [x!, y!, z!];
  };
  return {
    first: squares(a, meansA),
    second: squares(b, meansB),
    cross: a.map((p, i) => b.map((q, j) => dot(p, meansA[i]!, q, meansB[j]!))),
  };
}
