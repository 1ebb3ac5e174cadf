import { logFormats } from "../../catalogue/logFormats.ts";
import { LogError } from "../../foundation/errors.ts";
import { nearestNames } from "../../foundation/nearest.ts";
import type { MissingSignal, RecordedSignal, Recording, SignalRequest } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import { areCollinear } from "../../numeric/rigidFit.ts";
import type { ReadOptions } from "../LogReader.ts";
import { openC3d, type PointFile } from "./openC3d.ts";
import { lengthUnit, repeatedLabels } from "./pointFields.ts";
import { solveBody } from "./solveBody.ts";

/**
 * Reads the poses of the bodies whose markers are asked for from a point file, in metres and seconds since its first frame.
 *
 * @throws LogError  code `log-unreadable`: see `openC3d`; more than one file, which could not be put in order
 */
export async function readC3d(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  { span = null }: ReadOptions,
): Promise<Recording> {
  if (paths.length > 1)
    throw new LogError("log-unreadable", `found ${paths.length} C3D files as parts of one log, expected one`, {
      place: paths[1]!,
      hint: "a C3D file does not say when it was taken: give each its own run",
    });
  const file = openC3d(paths[0]!);
  const signals = new Map<SignalName, RecordedSignal>();
  const lost: MissingSignal[] = [];
  for (const request of requests) {
    const found = poseOf(file, request, span);
    if ("reason" in found) lost.push(found);
    else signals.set(request.signal, found);
  }
  return {
    files: paths,
    format: logFormats.c3d.name,
    signals,
    missing: lost,
    start: 0n,
    end: endOf(file),
    recovered: file.notes.length === 0 ? null : file.notes.join("; "),
    ...(file.checks.length === 0 ? {} : { checks: file.checks }),
  };
}

/** Time of the last frame after the first, nanoseconds. */
export function endOf({ frames, rate }: PointFile): bigint {
  return BigInt(Math.round((Math.max(0, frames - 1) / rate) * 1e9));
}

function poseOf(
  file: PointFile,
  request: SignalRequest,
  span: readonly [number, number] | null,
): RecordedSignal | MissingSignal {
  const { signal, markers } = request;
  const lacking = (reason: MissingSignal["reason"], message: string, hint: string): MissingSignal => ({
    signal,
    topic: request.topic,
    reason,
    message: `${signal}: ${message}`,
    hint,
  });
  if (markers === undefined)
    return lacking(
      "wrong-type",
      `found a C3D file, expected a log with ${request.columns === undefined ? `topic ${request.topic}` : "columns"}`,
      "say markers: { LABEL: [x, y, z], ... } for this signal, or name another log",
    );
  const unit = lengthUnit(file.unit);
  if ("found" in unit) return lacking("wrong-type", `found ${unit.found}, expected mm, cm or m`, unit.hint);
  const labels = Object.keys(markers);
  const points = labels.map((label) => file.labels.indexOf(label));
  const absent = points.indexOf(-1);
  if (absent >= 0) {
    const near = nearestNames(labels[absent]!, file.labels, 20);
    return lacking(
      "absent",
      `found no marker ${labels[absent]}; there are ${near.join(", ")}${file.labels.length > 20 ? `, and ${file.labels.length - 20} more` : ""}`,
      `did you mean ${near[0]}?`,
    );
  }
  const repeated = repeatedLabels(file.labels);
  const ambiguous = labels.find((label) => repeated.has(label));
  if (ambiguous !== undefined)
    return lacking(
      "wrong-type",
      `found the label ${ambiguous} at ${repeated.get(ambiguous)!.length} points of the file (numbers ${repeated.get(ambiguous)!.join(", ")}), expected it at one`,
      "give each marker a label of its own in the capture's software, and export again: some cut labels short",
    );
  const places = labels.map((label) => markers[label]!);
  if (labels.length === 2 || (labels.length > 2 && areCollinear(places.flat())))
    return lacking(
      "wrong-type",
      labels.length === 2 ? "found two markers, expected one or at least three" : "found markers on one line",
      "one marker gives a point; three or more that are not on one line give a pose",
    );
  const { rate, frames } = file;
  const from = span === null ? 0 : Math.max(0, Math.ceil(span[0] * rate - 1e-9));
  const to = span === null ? frames : Math.min(frames, Math.ceil(span[1] * rate - 1e-9));
  const solved = solveBody(file, { points, places, labels }, unit.metres, [from, to]);
  if (solved.frames.length === 0)
    return lacking(
      "empty",
      `found no frame${span === null ? "" : " in the span"} in which ${labels.length === 1 ? "the marker was" : "three of the markers were"} measured`,
      "look at the capture: were the markers seen?",
    );
  const stamps = { epoch: 0n, seconds: Float64Array.from(solved.frames, (frame) => frame / rate) };
  return {
    signal,
    topic: `markers ${labels.slice(0, 4).join(", ")}`,
    type: "C3D markers",
    frameId: "",
    received: stamps,
    stamped: stamps,
    zeroStamps: 0,
    columns: solved.columns,
    given: {},
    si: true,
    fit: solved.fit,
    ...(solved.fits === null ? {} : { fits: solved.fits }),
  };
}
