import type { Settings } from "../../contract/settings.ts";
import type { PointTrack, Window } from "../../foundation/tracks.ts";
import { extent } from "../../numeric/descriptive.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";
import type { CommandSamples } from "../cycles/waveform.ts";
import { samplePoints } from "../sampleTrack.ts";
import type { SubjectTrack } from "../subjectTracks.ts";

/** What is known of one flight of a logged trajectory before the runs are laid side by side. Seconds since the run's epoch. */
export interface LoggedFlight {
  /** the command that moves, at even steps over its moving stretch */
  readonly command: CommandSamples;
  /** the command's moving stretch within the recording */
  readonly moving: Window;
  /** when the vehicle left the ground; null where the recording begins in flight */
  readonly takeOff: number | null;
  /** when it was at its setpoint for the first time after that; null: not before it landed */
  readonly arrival: number | null;
  /** least distance from the setpoint in between, metres; where it arrived, that of the arrival */
  readonly nearest: number;
  /** when the last descent began; null where no landing is in the recording */
  readonly landing: number | null;
  /** what this run alone would be scored over; null where nothing is left */
  readonly own: Window | null;
  /** a person named the stretch (`span`), and neither take-off nor landing is in it */
  readonly isDeclared: boolean;
}

/** Most points of a command that are compared with another run's. */
const mostPoints = 1000;
/** Least step between them, seconds. */
const leastStep = 0.1;

/**
 * When a flight took off, came to its setpoint, and began to land, and so over which stretch of a logged command it can be scored:
 * from `stretch_settle` after its arrival to its landing. Only where it arrived is asked of the error, never how large it is.
 *
 * @param moves    the command that moves
 * @param moving   its moving stretch within the recording
 * @param vehicle  the vehicle against its setpoint, world with z up
 * @param hasSpan  whether a person cut the recording
 */
export function loggedFlight(
  moves: PointTrack,
  moving: Window,
  vehicle: SubjectTrack,
  setpoint: PointTrack,
  recorded: Window,
  hasSpan: boolean,
  settings: Settings,
): LoggedFlight {
  const takeOff = takeOffOf(vehicle, settings);
  const inAir = takeOff ?? recorded[0];
  const landing = landingOf(vehicle, setpoint, recorded, inAir + settings.stretch_settle, settings);
  const { arrival, nearest } = arrivalOf(vehicle, [inAir, landing ?? recorded[1]], settings);
  const isDeclared = hasSpan && takeOff === null && landing === null;
  const to = Math.min(moving[1], landing ?? moving[1]);
  const begin = isDeclared ? moving[0] : arrival === null ? inAir : arrival + settings.stretch_settle;
  const from = Math.max(moving[0], begin);
  const own: Window | null = to > from ? [from, to] : null;
  return { command: evenly(moves, moving), moving, takeOff, arrival, nearest, landing, own, isDeclared };
}

function evenly(moves: PointTrack, [from, to]: Window): CommandSamples {
  const step = Math.max(leastStep, (to - from) / mostPoints);
  const t = new Float64Array(Math.floor((to - from) / step) + 1).map((_, k) => from + k * step);
  return { t, ...samplePoints(moves, t) };
}

/**
 * When a vehicle that stood leaves the place where it stood, upwards. One that begins at its lowest in the air, and first climbs,
 * passes for one that stood: a second of its flight is lost.
 */
function takeOffOf({ t, measured: { x, y, z } }: SubjectTrack, settings: Settings): number | null {
  if (t.length === 0) return null;
  const { low, high } = extent(z);
  const away = settings.stretch_arrival;
  if (z[0]! > low + away || high - z[0]! < settings.takeoff_drop) return null;
  for (let i = 1; i < t.length; i++) {
    const up = z[i]! - z[0]!;
    const aside = Math.hypot(x[i]! - x[0]!, y[i]! - y[0]!);
    if (Math.hypot(up, aside) > away) return up > aside ? t[i]! : null;
  }
  return null;
}

function arrivalOf(
  { t, error: { x, y, z } }: SubjectTrack,
  [from, to]: Window,
  settings: Settings,
): { arrival: number | null; nearest: number } {
  let nearest = Number.POSITIVE_INFINITY;
  for (let i = lowerBound(t, from); t[i]! < to; i++) {
    const off = Math.hypot(x[i]!, y[i]!, z[i]!);
    if (off < settings.stretch_arrival) return { arrival: t[i]!, nearest: off };
    nearest = Math.min(nearest, off);
  }
  return { arrival: null, nearest };
}

/** The earlier of two beginnings of the last descent: the setpoint's, and, where a pilot lands, the vehicle's. */
function landingOf(
  { t, measured }: SubjectTrack,
  setpoint: PointTrack,
  recorded: Window,
  since: number,
  settings: Settings,
): number | null {
  const [from, to] = [lowerBound(setpoint.t, recorded[0]), lowerBound(setpoint.t, recorded[1])];
  const part = (column: Float64Array): Float64Array => column.subarray(from, to);
  const commanded = { t: part(setpoint.t), x: part(setpoint.x), y: part(setpoint.y), z: part(setpoint.z) };
  const begins = [commanded, { t, ...measured }].map((track) => lastDescent(track, since, settings));
  const known = begins.filter((begin) => begin !== null);
  return known.length === 0 ? null : Math.min(...known);
}

/** Rises smaller than this do not end a descent, metres: noise, and the sway of a vehicle that comes down. */
const sway = 0.03;
/** A descent that goes aside by more than this share of its height is a path, no landing. */
const mostAside = 0.3;

/** When the descent begins that ends a track below all it did since an instant, going down and not aside; null where none does. */
function lastDescent({ t, x, y, z }: PointTrack, since: number, settings: Settings): number | null {
  let last = z.length - 1;
  while (last >= 0 && Number.isNaN(z[last]!)) last--;
  let top = last;
  const aside = { east: x[last]!, west: x[last]!, north: y[last]!, south: y[last]! };
  for (let i = last; i >= 0 && !(z[i]! < z[top]! - sway); i--) {
    aside.east = Math.max(aside.east, x[i]!);
    aside.west = Math.min(aside.west, x[i]!);
    aside.north = Math.max(aside.north, y[i]!);
    aside.south = Math.min(aside.south, y[i]!);
    const wide = Math.hypot(aside.east - aside.west, aside.north - aside.south);
    if (z[i]! > z[top]! && wide <= mostAside * (z[i]! - z[last]!)) top = i;
  }
  if (last < 0 || z[top]! - z[last]! < settings.takeoff_drop) return null;
  const before = extent(z.subarray(Math.min(lowerBound(t, since), top), top + 1));
  return before.low > z[last]! + settings.stretch_arrival ? t[top]! : null;
}
