import { logKind } from "../../catalogue/logFormats.ts";
import type { LogInspection, TopicInspection } from "../../contract/inspection.ts";
import type { ColumnProposal, SignalRequest } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import type { SignalDraft } from "./CampaignSketch.ts";
import { guessUnits, unitWords } from "./guessUnits.ts";
import { oneLine, yamlMapping, yamlText } from "./summariseDraft.ts";

/** Words of the trade for the arm and its tool, for what is asked for, for a capture, and for what is reckoned on board. */
export const armWords = /(^|[/_])(arm|manipulator)|effector|tool|tip\b|gripper|hand|probe|swab/i;
export const commandWords = /goal|command|cmd|target|set_?point|desired|reference|hold/i;
export const captureWords = /mocap|motion_?capture|capture|vision|visual|vrpn|vicon|optitrack|qualisys|ground_?truth/i;
export const estimateWords = /estimat|state|odom|local|fused|onboard|filter|ekf/i;

const likelihood: Readonly<Record<SignalName, (name: string) => number>> = {
  vehicle_pose: (name) =>
    (captureWords.test(name) ? 2 : 0) +
    (/airframe|vehicle|body|uav|drone|copter/i.test(name) ? 1 : 0) -
    (armWords.test(name) || commandWords.test(name) ? 3 : 0),
  effector_pose: (name) => (armWords.test(name) && !commandWords.test(name) ? 3 : -1),
  vehicle_setpoint: (name) => (commandWords.test(name) ? 3 : -1) - (armWords.test(name) ? 3 : 0),
  effector_command: (name) => (armWords.test(name) ? 2 : -1) + (commandWords.test(name) ? 2 : 0),
  arm_phase: (name) => (armWords.test(name) || /joint|servo/i.test(name) ? 2 : 1),
  // a rate for the controller is filtered, and late by that: the sensor's own shows the clock better
  vehicle_rate: (name) => (/imu|gyro|sensor_combined/i.test(name) ? 2 : /angular_velocity|rates?$/i.test(name) ? 1 : 0),
  vehicle_estimate: (name) =>
    (estimateWords.test(name) ? 2 : -1) - (armWords.test(name) || commandWords.test(name) ? 3 : 0),
  battery: (name) => (armWords.test(name) ? 0 : 1),
  motors: (name) => (armWords.test(name) ? 0 : 1),
  // no type of message is an effort by itself: only a person knows the column
  arm_effort: () => -1,
};

/** How much a name speaks for a signal; below 0 it speaks against it. A hint beside what the data show, never more. */
export function nameSpeaks(signal: SignalName, name: string): number {
  return likelihood[signal](name);
}

type Found = Pick<LogInspection, "format" | "topics" | "table" | "points"> & { readonly start?: string | null };

/** Something in a log that could serve a signal: a topic, one body of it, columns of a table, markers. */
export interface Candidate {
  /** as a person calls it */
  readonly name: string;
  readonly type: string;
  readonly messages: number;
  /** a second; null where its times do not tell */
  readonly rate: number | null;
  readonly couldBe: readonly SignalName[];
  /** how much its name speaks for each signal; below 0 against it */
  readonly speaks: Readonly<Partial<Record<SignalName, number>>>;
  /** what goes between the braces of a manifest to name it, and what a person should know beside it */
  readonly parts: readonly string[];
  readonly remarks: readonly string[];
  readonly request: Omit<SignalRequest, "signal">;
  /** null where its times do not tell */
  readonly clock: string | null;
  /** logged north, east, down by its definition; whether the campaign's world is turned so its motion has to show */
  readonly down: boolean;
}

/** Transform trees have no end of children: more than these are listed, not looked at. */
const mostChildren = 24;

/** Whatever in a log could serve a signal. */
export function candidatesOf(found: Found): Candidate[] {
  const { format, topics, table, points } = found;
  if (points !== null) return ofMarkers(points);
  if (table !== null) return table.proposals.map((proposal, order) => ofColumns(proposal, order, found));
  const isUlog = logKind(format) === "autopilot";
  return topics
    .filter(({ messages, could_be }) => messages > 0 && could_be.length > 0)
    .flatMap((topic) => ofTopic(topic, isUlog));
}

function ofTopic(topic: TopicInspection, isUlog: boolean): Candidate[] {
  const single = (inner: { key: "child" | "body"; name: string } | null): Candidate => {
    const isJoint = /^sensor_msgs\/(msg\/)?JointState$/.test(topic.type);
    const name = inner === null ? topic.topic : `${topic.topic} ${inner.name}`;
    return {
      name,
      type: topic.type,
      messages: topic.messages,
      rate: rateOf(topic),
      couldBe: topic.could_be,
      speaks: Object.fromEntries(topic.could_be.map((signal) => [signal, nameSpeaks(signal, name)])),
      parts: [
        `topic: ${yamlText(topic.topic)}`,
        ...(inner === null ? [] : [`${inner.key}: ${yamlText(inner.name)}`]),
        ...(isJoint ? ["joint: <JOINT>"] : []),
      ],
      remarks: [],
      request: { topic: topic.topic, ...(inner === null ? {} : { [inner.key]: inner.name }) },
      clock: topic.clock,
      down: isUlog || topic.type.startsWith("px4_msgs/"),
    };
  };
  if (topic.bodies !== undefined)
    return topic.bodies.slice(0, mostChildren).map((name) => single({ key: "body", name }));
  if (topic.children.length === 0) return [single(null)];
  return topic.children.slice(0, mostChildren).map((name) => single({ key: "child", name }));
}

const poses: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_estimate"];
const commands: readonly SignalName[] = ["vehicle_setpoint", "effector_command"];

function ofColumns(proposal: ColumnProposal, order: number, found: Found): Candidate {
  const { signal, columns, remark } = proposal;
  const texts = Object.fromEntries(Object.entries(columns).map(([role, name]) => [role, yamlText(name)]));
  const { units, remarks } = guessUnits(proposal, found);
  const known = Object.entries(units).filter(([, unit]) => unit !== "<UNIT>");
  const written = Object.entries(units).map(([key, unit]) => [key, unit === "<UNIT>" ? unit : yamlText(unit)]);
  return {
    name: nameOfColumns(columns),
    type: "columns",
    messages: found.table!.rows,
    rate: rateOf(found.topics.find(({ topic }) => topic === columns.t)),
    couldBe: poses.includes(signal) ? poses : commands.includes(signal) ? commands : [signal],
    // the reader's own order stands: what it proposes first its names speak for most
    speaks: { [signal]: 3 - 0.01 * order },
    parts: [
      `columns: ${yamlMapping(texts)}`,
      ...(written.length === 0 ? [] : [`units: ${yamlMapping(Object.fromEntries(written))}`]),
    ],
    remarks: [...remarks, ...(remark === undefined ? [] : [remark])],
    request: { topic: "", columns, units: Object.fromEntries(known) },
    clock: columns.t ?? null,
    down: false,
  };
}

/** What the names of the columns share: "Mocap position" of "Mocap position x [m]" and its like. */
function nameOfColumns(columns: Readonly<Record<string, string>>): string {
  const { t: _, ...rest } = columns;
  const [first = "", second = ""] = Object.values(rest);
  let common = 0;
  while (common < first.length && first[common] === second[common]) common++;
  return first.slice(0, common).replace(/[\s_.[(-]+$/, "") || Object.values(rest).slice(0, 3).join(", ");
}

/** Which body is which only a person or its motion knows. */
function ofMarkers({ bodies, markers, rate }: NonNullable<LogInspection["points"]>): Candidate[] {
  const frames = Math.max(0, ...markers.map(({ measured }) => measured));
  const ordered = [...bodies].sort((a, b) => Object.keys(b.markers).length - Object.keys(a.markers).length);
  return ordered.map(({ markers: members, residual }) => {
    const places = Object.fromEntries(
      Object.entries(members).map(([label, place]) => [
        label,
        `[${place.map((value) => `${(1e3 * value).toFixed(2)} mm`).join(", ")}]`,
      ]),
    );
    const name = Object.keys(members).join(", ");
    return {
      name,
      type: "markers",
      messages: frames,
      rate,
      couldBe: poses,
      speaks: Object.fromEntries(poses.map((signal) => [signal, nameSpeaks(signal, name)])),
      parts: [`markers: ${yamlMapping(places)}`],
      remarks: [
        `places about the markers' centre, axes as the world's in the first frame: move them to your body frame; they keep their distances to ${(1e3 * residual).toFixed(2)} mm`,
      ],
      request: { topic: "", markers: members },
      clock: "frames",
      down: false,
    };
  });
}

function rateOf(topic: TopicInspection | undefined): number | null {
  const interval = topic?.timing?.median_interval ?? null;
  return interval === null ? null : 1 / interval;
}

/**
 * The line of a manifest by which a candidate serves a signal.
 *
 * @param more.units  those that its motion beside another's gave away, by group
 */
export function draftOf(
  signal: SignalName,
  candidate: Candidate,
  more: {
    readonly parts?: readonly string[];
    readonly remarks?: readonly string[];
    readonly units?: Readonly<Record<string, string>>;
    readonly armBase?: string | undefined;
  } = {},
): SignalDraft {
  const seen = Object.entries(more.units ?? {});
  const parts = [...candidate.parts, ...(more.parts ?? [])].map((part) =>
    seen.reduce((text, [group, unit]) => text.replace(`${group}: <UNIT>`, `${group}: ${yamlText(unit)}`), part),
  );
  const isAsked = parts.some((part) => part.includes("<UNIT>"));
  const remarks = candidate.remarks.filter((remark) => isAsked || remark !== unitWords);
  return {
    signal,
    place: sourceText(candidate),
    parts,
    remarks: [...(more.remarks ?? []), ...remarks].map(oneLine),
    down: candidate.down,
    clock: candidate.clock,
    rate: candidate.rate,
    ...(more.armBase === undefined ? {} : { armBase: more.armBase }),
  };
}

/**
 * Where a candidate stands in its log. The unit of lengths is part of it, for a table in millimetres is no part of a campaign in
 * metres; where a body's markers are is measured again in every file, so that their labels alone say which they are.
 */
export function sourceText({ parts, name, request, type }: Candidate): string {
  if (type === "markers") return `markers: ${name}`;
  const { columns, units } = request;
  if (columns === undefined) return parts.filter((part) => !part.startsWith("joint:")).join(", ");
  return [parts[0]!, ...(units?.position === undefined ? [] : [`position in ${units.position}`])].join(", ");
}
