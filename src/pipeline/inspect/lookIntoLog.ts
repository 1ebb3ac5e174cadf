import type { RateGrid } from "../../alignment/clock/rateGrid.ts";
import { commandShape } from "../../alignment/cycles/commandShape.ts";
import { logKind } from "../../catalogue/logFormats.ts";
import type { Span } from "../../contract/campaign.ts";
import type { CommandShape, LogInspection } from "../../contract/inspection.ts";
import { defaultSettings } from "../../contract/settings.ts";
import type { PointTrack, SignalName } from "../../foundation/tracks.ts";
import { extent, quantile } from "../../numeric/descriptive.ts";
import type { readLog } from "../../readers/readLog.ts";
import type { LogDraft, SignalDraft } from "../../report/draft/CampaignSketch.ts";
import { type Candidate, candidatesOf } from "../../report/draft/candidates.ts";
import { draftSignals } from "../../report/draft/draftSignals.ts";
import { isCommand, withLengths } from "./bodies.ts";
import { findRoles, type Roles } from "./findRoles.ts";
import { turnsOfBody, turnsOfGyro } from "./gyroAgreement.ts";
import { readStreams, type Stream } from "./streams.ts";
import { turnedUp, type Up, upAsked, upOf } from "./takeOff.ts";
import { flownWithin, relationOf, traitsOf } from "./traits.ts";

/** One flight of a log, and what was commanded in it. */
interface FlightSight {
  /** seconds after the log's first receipt; null: the whole log */
  readonly span: Span | null;
  /** null where no command tells */
  readonly shape: CommandShape | null;
}

/** A vehicle flies where it is higher than its lowest by this, metres, for this long, seconds. */
const [aloft, leastFlight] = [0.25, 8];
/** On the ground it moves by less, metres. */
const stands = 0.03;
/** It has landed where it stays down for this long; a span reaches this far beyond the flight, seconds. */
const [leastLanding, margin] = [3, 2];

/**
 * The flights of a log: where the vehicle took off and landed more than once, each with its span; else the log as a whole.
 *
 * @param vehicle  its positions; null where none is known
 * @param down     z points down in them
 * @param likely   periods of other commands like it, seconds
 * @param command  what moved the arm, else the vehicle
 */
function findFlights(
  vehicle: PointTrack | null,
  command: PointTrack | null,
  { down, likely }: { readonly down: boolean; readonly likely: readonly number[] },
): readonly FlightSight[] {
  const shapeOf = (track: PointTrack): CommandShape | null => commandShape(track, likely);
  const stretches =
    vehicle === null ? [] : aloftStretches(down ? { ...vehicle, z: vehicle.z.map((z) => -z) } : vehicle);
  if (stretches.length < 2) return [{ span: null, shape: command === null ? null : shapeOf(command) }];
  return stretches.map(([from, to], k) => {
    const before = stretches[k - 1]?.[1] ?? Number.NEGATIVE_INFINITY;
    const after = stretches[k + 1]?.[0] ?? Number.POSITIVE_INFINITY;
    const start = Math.max(0, from - margin, (before + from) / 2);
    const end = Math.min(to + margin, (to + after) / 2);
    const span: Span = [Math.floor(10 * start) / 10, Math.floor(10 * end) / 10];
    return { span, shape: command === null ? null : shapeOf(within(command, span)) };
  });
}

function aloftStretches(track: PointTrack): [number, number][] {
  const { t, z } = track;
  const ground = quantile(z, 0.02);
  const found: [number, number][] = [];
  for (let i = 0; i < t.length; i++) {
    if (z[i]! < ground + aloft) continue;
    const last = found.at(-1);
    if (last !== undefined && !hasLanded(track, last[1], t[i]!)) last[1] = t[i]!;
    else found.push([t[i]!, t[i]!]);
  }
  return found.filter(([from, to]) => to - from >= leastFlight);
}

/** Whether the vehicle stood still in between: a capture whose z lies level shows no landing when the vehicle comes back. */
function hasLanded(track: PointTrack, from: number, to: number): boolean {
  if (to - from < leastLanding) return false;
  const { x, y, z } = within(track, [from + 0.3 * (to - from), to - 0.3 * (to - from)]);
  return [x, y, z].every((column) => column.length > 1 && quantile(column, 0.95) - quantile(column, 0.05) < stands);
}

function within({ t, x, y, z }: PointTrack, [from, to]: Span): PointTrack {
  const rows = Array.from(t.keys()).filter((i) => t[i]! >= from && t[i]! < to);
  const pick = (column: Float64Array): Float64Array => Float64Array.from(rows, (i) => column[i]!);
  return { t: pick(t), x: pick(x), y: pick(y), z: pick(z) };
}

/** What a log's motion shows of it. */
export interface LogSights {
  readonly candidates: readonly Candidate[];
  readonly roles: Roles;
  readonly signals: readonly SignalDraft[];
  readonly unknown: LogDraft["unknown"];
  /** nothing moves in it: a static capture */
  readonly still: boolean;
  /** what its motions are, to five digits: equal in logs of one flight, whatever holds them; null where none was read */
  readonly content: string | null;
  /** which way the vehicle leaves the ground, or without a capture is asked to, in the axes it is logged in; null where it does not show */
  readonly up: Up | null;
  /** at least one; more where the vehicle took off and landed again */
  readonly flights: readonly FlightSight[];
  /** what shows the motion of the capture's vehicle as well, and so the capture's clock; null where nothing in this log does */
  readonly sight: "vehicle_rate" | "vehicle_estimate" | null;
  /** the gyro turns otherwise than the capture's vehicle: no offset can be found by it */
  readonly gyroApart: boolean;
  /** how well the gyro shows the offset of the capture's clock, seconds; null where it does not */
  readonly offsetError: number | null;
  /** of a log without a date that either sees the vehicle turn or feels it: how; null of others, which nothing is paired by */
  readonly turning: Turning | null;
}

/** How a vehicle turns by its pose, or by its gyro. */
export interface Turning {
  readonly by: "pose" | "gyro";
  readonly rates: RateGrid;
}

/** What a log shows of the vehicle's turns, where it is of one recorder of two. */
function turningOf(roles: Roles, streams: readonly Stream[]): Turning | null {
  const streamOf = (signal: SignalName): Stream | undefined =>
    streams.find(({ candidate }) => candidate === roles.get(signal)?.chosen);
  const [pose, gyro] = [streamOf("vehicle_pose")?.pose ?? null, streamOf("vehicle_rate")];
  if (pose !== null) return gyro === undefined ? { by: "pose", rates: turnsOfBody(pose) } : null;
  return gyro === undefined ? null : { by: "gyro", rates: turnsOfGyro(gyro) };
}

function isDated(start: string | null): boolean {
  return start !== null && BigInt(start) >= 1_000_000_000_000_000_000n;
}

/**
 * Reads the motions of a log and finds out what they are.
 *
 * @param likely  periods that were commanded in other logs of the folder, seconds
 */
export async function lookIntoLog(
  path: string,
  found: Pick<LogInspection, "format" | "topics" | "table" | "points" | "start">,
  read: typeof readLog,
  likely: readonly number[],
): Promise<LogSights> {
  const candidates = candidatesOf(found);
  const logged = withLengths(await readStreams(path, candidates, read));
  const streams = logged.map(turnedUp);
  const { roles, gyro, gyroApart } = findRoles(candidates, streams);
  const pointOf = (signal: SignalName): PointTrack | null =>
    streams.find(({ candidate }) => candidate === roles.get(signal)?.chosen)?.point ?? null;
  const vehicle = pointOf("vehicle_pose");
  const arm = pointOf("effector_command");
  const loggedOf = (signal: SignalName): PointTrack | null =>
    logged.find(({ candidate }) => candidate === roles.get(signal)?.chosen)?.point ?? null;
  const [pose, asked] = [loggedOf("vehicle_pose"), loggedOf("vehicle_setpoint")];
  // an estimate may be reset on the ground; what the vehicle was asked for in the same world is not
  const isOneWorld = pose === null || (asked !== null && (relationOf(pose, asked)?.distance ?? Infinity) < flownWithin);
  const up = upOf(pose) ?? (isOneWorld ? upAsked(asked) : null);
  const isDown = up === "down" || (roles.get("vehicle_pose")?.chosen?.down ?? false);
  const setpoint = pointOf("vehicle_setpoint");
  const rests = setpoint !== null && !(traitsOf(setpoint).reach > 1e-3);
  // what an arm does that only a joint shows, the setpoint of a hover does not show
  const other = roles.has("arm_phase") && rests ? null : setpoint;
  const command = arm !== null && traitsOf(arm).reach > 1e-3 ? arm : other;
  return {
    candidates,
    roles,
    signals: draftSignals(roles),
    content: contentOf(logged) ?? countsOf(found),
    up,
    unknown: found.topics
      .filter(({ known, messages }) => !known && messages > 0)
      .map(({ topic, type }) => ({ topic, type })),
    still: isStill(found.format, roles, streams),
    flights: findFlights(vehicle, command, { down: isDown, likely }),
    sight:
      gyro !== null ? "vehicle_rate" : vehicle !== null && roles.has("vehicle_estimate") ? "vehicle_estimate" : null,
    gyroApart,
    offsetError: gyro?.offsetError ?? null,
    turning: isDated(found.start) ? null : turningOf(roles, streams),
  };
}

/**
 * Whether a log is that of a static capture: every body in it stays within a few millimetres on every axis, and nothing is
 * commanded, for what was commanded was flown. An autopilot's log is that of a flight.
 */
function isStill(format: string, roles: Roles, streams: readonly Stream[]): boolean {
  const kind = logKind(format);
  if (kind === "autopilot" || kind === "points") return false;
  if (roles.has("vehicle_setpoint") || roles.has("effector_command")) return false;
  const bodies = streams.flatMap(({ point }) => (point === null ? [] : [point]));
  if (bodies.length === 0) return false;
  return bodies.every(({ x, y, z }) => {
    const ranges = [x, y, z].map((column) => extent(column));
    // what was never seen stands in one place to the last digit
    return (
      ranges.every(({ low, high }) => high - low < defaultSettings.static_spread) &&
      ranges.some(({ low, high }) => high > low)
    );
  });
}

/** Where too few messages show a motion: when the log was begun, to the nanosecond, and how many messages of each topic it holds. */
function countsOf({ topics, start }: Pick<LogInspection, "topics" | "start">): string | null {
  if (!isDated(start) || topics.length === 0) return null;
  return `${start} ${topics
    .map(({ topic, messages }) => `${topic} ${messages}`)
    .sort()
    .join(", ")}`;
}

/** A few places of each motion, and when they were: five digits are kept by every container and by most tables. */
function contentOf(streams: readonly Stream[]): string | null {
  const digits = (value: number): string => String(Number(value.toPrecision(5)));
  // two flights may be asked for the same to the last digit, but no two are measured so
  const isMeasured = streams.some((stream) => {
    const { t, point, rates } = stream;
    const traits = traitsOf(point ?? { t, x: rates![0], y: rates![1], z: rates![2] });
    return traits.repeats < 0.2 && (point === null || !isCommand(stream, traits));
  });
  const prints = streams.map(({ t, point, rates }) => {
    const columns = point === null ? rates! : [point.x, point.y, point.z];
    const rows = [0, 0.25, 0.5, 0.75, 1].map((share) => Math.round(share * (t.length - 1)));
    const places = rows.map((i) => [t[i]! - t[0]!, ...columns.map((column) => column[i]!)].map(digits).join(" "));
    return `${t.length} ${places.join(", ")}`;
  });
  return isMeasured ? prints.sort().join("; ") : null;
}
