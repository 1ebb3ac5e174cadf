import { logFormats } from "../../catalogue/logFormats.ts";
import type { BodyProposal, LogSurvey } from "../../foundation/recording.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { rotateVector } from "../../numeric/quaternion.ts";
import { areCollinear, rigidFit } from "../../numeric/rigidFit.ts";
import type { LogReader } from "../LogReader.ts";
import { openC3d, type PointFile } from "./openC3d.ts";
import { lengthUnit, repeatedLabels, state } from "./pointFields.ts";
import { endOf, readC3d } from "./readC3d.ts";

/** Distances between markers of one body vary by noise; this is well above it, metres. */
const rigid = 3e-3;
const mostMarkers = 60;
const mostFrames = 200;

/**
 * Groups of markers that keep their distances over the log, with their mean places: for a person to name and to move the
 * origin of. Markers that share their label with another are left out: a manifest could not name them.
 *
 * @param metres  metres per unit of the file
 */
function proposeBodies(file: PointFile, metres: number): BodyProposal[] {
  const { labels, frames, states } = file;
  const stride = Math.max(1, Math.floor(frames / mostFrames));
  const sampled = Array.from({ length: Math.floor(frames / stride) }, (_, k) => k * stride);
  const isSeen = (frame: number, point: number): boolean => states[frame * labels.length + point] === state.measured;
  const coverage = labels.map((_, point) => sampled.filter((frame) => isSeen(frame, point)).length);
  const repeated = repeatedLabels(labels);
  const candidates = labels
    .map((_, point) => point)
    .filter((point) => !repeated.has(labels[point]!))
    .filter((point) => coverage[point]! >= 0.5 * sampled.length && coverage[point]! > 10)
    .sort((a, b) => coverage[b]! - coverage[a]! || a - b)
    .slice(0, mostMarkers);
  const at = (frame: number, point: number): Vector3 => {
    const first = 3 * (frame * labels.length + point);
    return [file.positions[first]! * metres, file.positions[first + 1]! * metres, file.positions[first + 2]! * metres];
  };
  const keeps = (a: number, b: number): boolean => {
    let [n, mean, squares] = [0, 0, 0];
    for (const frame of sampled) {
      if (!isSeen(frame, a) || !isSeen(frame, b)) continue;
      const p = at(frame, a);
      const q = at(frame, b);
      const distance = Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
      n++;
      const step = distance - mean;
      mean += step / n;
      squares += step * (distance - mean);
    }
    return n > 10 && Math.sqrt(squares / (n - 1)) < rigid;
  };
  const free = new Set(candidates);
  const bodies: BodyProposal[] = [];
  for (const first of candidates) {
    if (!free.has(first)) continue;
    const group = [first];
    for (const other of candidates)
      if (other !== first && free.has(other) && group.every((member) => keeps(member, other))) group.push(other);
    if (group.length < 3) continue;
    const shape = meanShape(
      sampled
        .filter((frame) => group.every((point) => isSeen(frame, point)))
        .map((frame) => group.map((point) => at(frame, point))),
    );
    if (shape === null) continue;
    for (const point of group) free.delete(point);
    bodies.push({
      markers: Object.fromEntries(group.map((point, k) => [labels[point]!, shape.places[k]!])),
      residual: shape.residual,
    });
  }
  return bodies;
}

/** Mean of shapes that are turned onto the first, about their centre; axes as the world's in the first. */
function meanShape(shapes: readonly (readonly Vector3[])[]): { places: readonly Vector3[]; residual: number } | null {
  const first = shapes[0]?.flat();
  if (first === undefined || shapes.length < 5 || areCollinear(first)) return null;
  const sum = new Float64Array(first.length);
  let squares = 0;
  for (const shape of shapes) {
    const { rotation, translation, squares: left } = rigidFit(shape.flat(), first);
    squares += left;
    shape.forEach((place, k) => {
      const turned = rotateVector(rotation, place);
      for (let axis = 0; axis < 3; axis++) sum[3 * k + axis]! += turned[axis]! + translation[axis]!;
    });
  }
  const count = first.length / 3;
  const mean = sum.map((value) => value / shapes.length);
  const centre = [0, 1, 2].map(
    (axis) => mean.reduce((total, value, k) => total + (k % 3 === axis ? value : 0), 0) / count,
  );
  const places = Array.from(
    { length: count },
    (_, k): Vector3 => [mean[3 * k]! - centre[0]!, mean[3 * k + 1]! - centre[1]!, mean[3 * k + 2]! - centre[2]!],
  );
  return { places, residual: Math.sqrt(squares / (shapes.length * count)) };
}

/** Reads point files in the C3D format. Times count from the first frame: the format does not say when that was. */
export const c3dReader: LogReader = {
  read: readC3d,
  survey: async (path) => survey(path),
  stamps: async () => ({ topics: new Map(), damage: [] }),
};

function survey(path: string): LogSurvey {
  const file = openC3d(path);
  const { labels, frames, states, unit, rate, notes } = file;
  const count = (point: number, wanted: number): number => {
    let found = 0;
    for (let frame = 0; frame < frames; frame++) if (states[frame * labels.length + point] === wanted) found++;
    return found;
  };
  const length = lengthUnit(unit);
  return {
    file: path,
    format: logFormats.c3d.name,
    bytes: file.bytes,
    compression: [],
    start: frames === 0 ? null : 0n,
    end: frames === 0 ? null : endOf(file),
    messages: frames,
    topics: [],
    recovered: notes.length === 0 ? null : notes.join("; "),
    points: {
      unit,
      rate,
      markers: labels.map((label, point) => ({
        label,
        measured: count(point, state.measured),
        modelled: count(point, state.modelled),
        missing: count(point, state.missing),
      })),
      bodies: "found" in length ? [] : proposeBodies(file, length.metres),
      notes: [
        ...("found" in length ? [`found ${length.found}, expected mm, cm or m; ${length.hint}`] : []),
        ...ambiguous(labels),
        ...file.checks.map(({ message }) => message),
      ],
    },
  };
}

/** Labels that several points bear cannot be declared, which a person has to know before the capture is exported again. */
function ambiguous(labels: readonly string[]): string[] {
  const repeated = [...repeatedLabels(labels)];
  if (repeated.length === 0) return [];
  const stated = repeated.slice(0, 20).map(([label, numbers]) => `${label} (points ${numbers.join(", ")})`);
  const more = repeated.length > stated.length ? ` and ${repeated.length - stated.length} more` : "";
  return [
    `several points bear the same label, so that it is not known which is meant: ${stated.join("; ")}${more}; they are left out of the bodies below`,
  ];
}
