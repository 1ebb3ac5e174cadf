import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import type { RigAnswer, SetupAnswer } from "../../src/contract/api/campaignAnswer.ts";
import type { ShownRun } from "../../src/contract/api/runAnswers.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import { centreOfMass } from "../../src/contract/ledger.ts";
import { type Axis, axes, type Window } from "../../src/foundation/tracks.ts";
import { extent, mean } from "../../src/numeric/descriptive.ts";
import { lowerBound } from "../../src/pipeline/windowSlices.ts";
import type { RunTraces } from "../rememberRuns.ts";

type Columns = SubjectTrack["measured"];
type Point = [number, number, number];

/** points of a path that are handed out at the most */
const mostPoints = 240;
const whole: Window = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];

/** Where a run took place: made for a drawing to scale, so rounded to a tenth of a millimetre. */
export function setupAnswer(
  run: ShownRun,
  { subjects, hold, cycles, facing }: RunTraces,
  frames: Campaign["frames"],
  { blind }: { readonly blind: boolean },
): SetupAnswer {
  // errors judged in the heading are kept in axes turned by it
  const back = run.heading?.taken_out ?? 0;
  const { vehicle, effector } = subjects;
  // of a run that cannot be scored the whole flight is drawn: it is then that the picture is needed
  const scored: Window = cycles.length > 0 ? [cycles[0]![0], cycles.at(-1)![1]] : (hold ?? whole);
  const still = hold ?? scored;
  const hover = vehicle === undefined ? null : meanOf(within(vehicle.t, vehicle.measured, still));
  const off = vehicle === undefined ? null : meanOf(within(vehicle.t, vehicle.error, still));
  const place = hover === null ? null : turned(hover, back);
  const heading = facing.measured === null ? (run.heading?.yaw ?? null) : facing.measured + back;
  const error = effector === undefined ? null : meanOf(within(effector.t, effector.error, scored));
  const tracks = [vehicle, effector].flatMap((track) =>
    track === undefined || track.t.length === 0 ? [] : [turnedColumns(track.measured, back)],
  );
  return {
    run: run.id,
    flown: tracks.length === 0 ? null : boxOf(tracks),
    hover: place === null ? null : roundedPoint(place),
    heading: heading === null ? null : rounded(heading),
    setpoint:
      hover === null || off === null
        ? null
        : roundedPoint(turned(hover.map((each, k) => each - off[k]!) as Point, back)),
    heading_commanded: facing.commanded === null ? null : rounded(facing.commanded + back),
    arm_base:
      place === null || heading === null
        ? null
        : roundedPoint(turned([...frames.armBase.translation], heading).map((each, k) => each + place[k]!) as Point),
    tool: thinned(effector === undefined ? null : within(effector.t, effector.measured, scored), back),
    command: thinned(effector === undefined ? null : within(effector.command.t, effector.command, scored), back),
    apart: blind || error === null ? null : rounded(Math.hypot(...error)),
  };
}

/** What the manifest says of masses; see `rigAnswerSchema` for what is said where the service is blind. */
export function rigAnswer(campaign: Campaign, blind: boolean): RigAnswer {
  const { configurations, baseline } = campaign;
  const { at, source } = centreOfMass(campaign, baseline);
  const carrying = Object.entries(configurations).filter(([, { counterweights }]) => counterweights.length > 0);
  return {
    com: source === "body_point" ? null : { at: [...at] as Point, source },
    counterweights: carrying.map(([name, { label, counterweights }]) => ({
      configuration: blind ? null : label || name,
      weights: counterweights.map(({ mass, at }) => ({ mass, at: [...at] as Point })),
    })),
  };
}

function boxOf(tracks: readonly Columns[]): NonNullable<SetupAnswer["flown"]> {
  const of = (axis: Axis): [number, number] => {
    const ends = tracks.map((columns) => extent(columns[axis]));
    return [rounded(Math.min(...ends.map(({ low }) => low))), rounded(Math.max(...ends.map(({ high }) => high)))];
  };
  return { x: of("x"), y: of("y"), z: of("z") };
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

function roundedPoint(point: Point): Point {
  return point.map(rounded) as Point;
}

function rounded(value: number): number {
  return Math.round(value * 1e4) / 1e4;
}
