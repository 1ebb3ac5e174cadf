import type { LogInspection, TopicInspection } from "../../contract/inspection.ts";
import type { SignalName } from "../../foundation/signals.ts";
import { assignSignals } from "./assignSignals.ts";
import type { SignalDraft } from "./SignalDraft.ts";
import { oneLine, yamlMapping, yamlText } from "./yamlText.ts";

type Found = Pick<LogInspection, "format" | "topics" | "table" | "points">;

/** The signals that a log seems to hold: by topics, by a table's columns, or by the markers of a point file. */
export function draftSignals({ format, topics, table, points }: Found): SignalDraft[] {
  if (table !== null) return table.proposals.map((proposal) => ofColumns(proposal));
  if (points !== null) return ofMarkers(points);
  return [...assignSignals(topics)].map(([signal, topic]) => ofTopic(signal, topic, format === "ULog"));
}

/** The autopilot logs north, east, down; whether the campaign's world is turned is for a person to say. */
function axesOf(signal: SignalName, topic: TopicInspection, isUlog: boolean): string[] {
  if (!isUlog && !topic.type.startsWith("px4_msgs/")) return [];
  // of a command of the arm only its frame tells what would have to be turned
  if (signal === "battery" || signal === "motors" || signal === "effector_command") return [];
  return [signal === "vehicle_rate" ? "axes: { body: frd }" : "axes: { world: ned }"];
}

function ofTopic(signal: SignalName, found: TopicInspection, isUlog: boolean): SignalDraft {
  const parts = [`topic: ${yamlText(found.topic)}`];
  const remarks: string[] = [];
  if (found.children.length > 0)
    parts.push(`child: ${found.children.length === 1 ? yamlText(found.children[0]!) : "<CHILD>"}`);
  if (found.children.length > 1) remarks.push(`child: ${found.children.slice(0, 6).map(oneLine).join(", ")}`);
  if (/^sensor_msgs\/(msg\/)?JointState$/.test(found.type)) parts.push("joint: <JOINT>");
  const axes = axesOf(signal, found, isUlog);
  parts.push(...axes);
  if (axes.includes("axes: { world: ned }"))
    remarks.push("world: ned (x north, y east) or frd (x forward, y right), both with z down");
  return withFrame(signal, { signal, parts, remarks, clock: found.clock });
}

function ofColumns({
  signal,
  columns,
  units,
  remark,
}: NonNullable<LogInspection["table"]>["proposals"][number]): SignalDraft {
  const texts = Object.fromEntries(Object.entries(columns).map(([role, name]) => [role, yamlText(name)]));
  const wanted: Record<string, string> = { t: units.t ?? "<UNIT>" };
  if (columns.x !== undefined) wanted.position = units.position ?? "<UNIT>";
  if (columns.yaw !== undefined) wanted.angle = units.angle ?? "<UNIT>";
  if (columns.wx !== undefined) wanted.rate = units.rate ?? "<UNIT>";
  if (columns.voltage !== undefined) wanted.voltage = units.voltage ?? "V";
  const told = Object.fromEntries(
    Object.entries(wanted).map(([key, unit]) => [key, unit === "<UNIT>" ? unit : yamlText(unit)]),
  );
  const remarks = Object.values(wanted).includes("<UNIT>")
    ? ["units such as s, ms, m, mm, deg, deg/s; of numbers of frames their rate, such as 100 Hz"]
    : [];
  if (remark !== undefined) remarks.push(remark);
  const parts = [`columns: ${yamlMapping(texts)}`, `units: ${yamlMapping(told)}`];
  return withFrame(signal, { signal, parts, remarks, clock: columns.t ?? null });
}

/** Which body is which only a person knows: the largest is taken for the vehicle, the next for the effector. */
function ofMarkers({ bodies }: NonNullable<LogInspection["points"]>): SignalDraft[] {
  const ordered = [...bodies].sort((a, b) => Object.keys(b.markers).length - Object.keys(a.markers).length);
  return ordered.slice(0, 2).map(({ markers, residual }, k) => {
    const places = Object.fromEntries(
      Object.entries(markers).map(([label, place]) => [
        label,
        `[${place.map((value) => `${(1e3 * value).toFixed(2)} mm`).join(", ")}]`,
      ]),
    );
    return {
      signal: k === 0 ? "vehicle_pose" : "effector_pose",
      parts: [`markers: ${yamlMapping(places)}`],
      remarks: [
        `places about the markers' centre, axes as the world's in the first frame: move them to your body frame; they keep their distances to ${(1e3 * residual).toFixed(2)} mm`,
      ],
      clock: "frames",
    };
  });
}

function withFrame(signal: SignalName, draft: SignalDraft): SignalDraft {
  if (signal !== "effector_command") return draft;
  return {
    ...draft,
    parts: [...draft.parts, "frame: <FRAME>"],
    remarks: [...draft.remarks, "frame: world, vehicle or arm_base"],
  };
}
