import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import type { ShownRun } from "../../src/contract/api/runAnswers.ts";
import type { SetupAnswer } from "../../src/contract/api/setupAnswer.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import { axes } from "../../src/foundation/signals.ts";
import type { Window } from "../../src/foundation/tracks.ts";
import { extent } from "../../src/numeric/extent.ts";
import { mean } from "../../src/numeric/mean.ts";
import { lowerBound } from "../../src/pipeline/windowSlices.ts";
import type { RunTraces } from "../RunTraces.ts";

type Columns = SubjectTrack["measured"];
type Point = [number, number, number];

/** points of a path that are handed out at the most */
const mostPoints = 240;

/** Where a run took place: made for a drawing to scale, so rounded to a tenth of a millimetre. */
export function setupAnswer(
  run: ShownRun,
  { subjects, hold, cycles }: RunTraces,
  frames: Campaign["frames"],
  { blind }: { readonly blind: boolean },
): SetupAnswer {
  // errors judged in the heading are kept in axes turned by it
  const back = run.heading?.taken_out ?? 0;
  const { vehicle, effector } = subjects;
  const scored: Window | null = cycles.length > 0 ? [cycles[0]![0], cycles.at(-1)![1]] : hold;
  const still = hold ?? scored;
  const hover = vehicle === undefined || still === null ? null : meanOf(within(vehicle.t, vehicle.measured, still));
  const heading = run.heading?.yaw ?? null;
  const tool = effector === undefined || scored === null ? null : within(effector.t, effector.measured, scored);
  const command =
    effector === undefined || scored === null ? null : within(effector.command.t, effector.command, scored);
  const error = effector === undefined || scored === null ? null : meanOf(within(effector.t, effector.error, scored));
  const place = hover === null ? null : turned(hover, back);
  const flown = [vehicle, effector].flatMap((track) =>
    track === undefined || track.t.length === 0 ? [] : [turnedColumns(track.measured, back)],
  );
  return {
    run: run.id,
    flown:
      flown.length === 0
        ? null
        : (Object.fromEntries(
            axes.map((axis) => {
              const ends = flown.map((columns) => extent(columns[axis]));
              return [
                axis,
                [rounded(Math.min(...ends.map(({ low }) => low))), rounded(Math.max(...ends.map(({ high }) => high)))],
              ];
            }),
          ) as SetupAnswer["flown"]),
    hover: place === null ? null : (place.map(rounded) as Point),
    heading: heading === null ? null : rounded(heading),
    arm_base:
      place === null || heading === null
        ? null
        : (turned([...frames.armBase.translation], heading).map((each, k) => rounded(each + place[k]!)) as Point),
    tool: thinned(tool, back),
    command: thinned(command, back),
    apart: blind || error === null ? null : rounded(Math.hypot(...error)),
  };
}

function within(t: Float64Array, { x, y, z }: Columns, [from, to]: Window): Columns {
  const [a, b] = [lowerBound(t, from), lowerBound(t, to)];
  return { x: x.subarray(a, b), y: y.subarray(a, b), z: z.subarray(a, b) };
}

function meanOf(columns: Columns): Point | null {
  if (columns.x.length === 0) return null;
  return axes.map((axis) => mean(columns[axis])) as Point;
}

/** Turned about z by an angle, radians. */
function turned([x, y, z]: Point, angle: number): Point {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [c * x - s * y, s * x + c * y, z];
}

function turnedColumns({ x, y, z }: Columns, angle: number): Columns {
  if (angle === 0) return { x, y, z };
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return { x: x.map((value, i) => c * value - s * y[i]!), y: x.map((value, i) => s * value + c * y[i]!), z };
}

/** Every k-th point; what is not commanded (NaN) is left out. */
function thinned(columns: Columns | null, angle: number): SetupAnswer["tool"] {
  const path: SetupAnswer["tool"] = { x: [], y: [], z: [] };
  if (columns === null) return path;
  const every = Math.max(1, Math.ceil(columns.x.length / mostPoints));
  for (let i = 0; i < columns.x.length; i += every) {
    const point = turned([columns.x[i]!, columns.y[i]!, columns.z[i]!], angle);
    if (point.every(Number.isFinite)) for (const [k, axis] of axes.entries()) path[axis].push(rounded(point[k]!));
  }
  return path;
}

function rounded(value: number): number {
  return Math.round(value * 1e4) / 1e4;
}
