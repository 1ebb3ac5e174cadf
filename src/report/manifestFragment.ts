import type { TopicInspection } from "../contract/inspection.ts";
import { type SignalName, signalNames } from "../foundation/signals.ts";
import { assignSignals } from "./assignSignals.ts";

/** Clock names in the fragment: the capture system's, the vehicle's. */
const capture = "mocap";
const onboard = "onboard";

/**
 * A `campaign.yaml` to start from: the signals this log seems to hold, the clocks they seem to share, and places to fill in,
 * written `<LIKE THIS>`. With the places filled in, it is a manifest of one run.
 *
 * @param file  the log as it was named; only its last part is used, since paths are relative to the manifest
 */
export function manifestFragment(file: string, topics: readonly TopicInspection[]): string {
  const signals = assignSignals(topics);
  const clockNames = nameClocks(signals);
  const twoClocks = new Set(clockNames.values()).size > 1;
  const log = file.split(/[/\\]/).at(-1) ?? file;
  const lines = [
    "title: <TITLE>",
    "baseline: bare",
    "candidate: weighted",
    "smallest_difference: <LENGTH>     # the smallest change that would matter, such as 1.5 mm",
    "configurations:",
    "  bare: { label: <LABEL> }",
    "  weighted: { label: <LABEL>, added_mass: <MASS> }     # such as 540 g",
    "# frames:     # what was surveyed; what is left out is taken as zero",
    "#   tool_point: [0 mm, 0 mm, -45 mm]     # control point in the effector's marker frame",
    "#   arm_base: [60 mm, 0 mm, -120 mm]     # in the vehicle's body frame",
    "signals:",
    ...signalLines(signals, twoClocks ? clockNames : null),
    ...unknownTypes(topics),
    ...(twoClocks ? clockLines(signals, clockNames) : []),
    "trajectories:     # shape: circle, line, hold or logged",
    "  orbit: { shape: circle, plane: <PLANE>, radius: <RADIUS>, speed: <SPEED>, cycles: <COUNT> }     # such as yz, 60 mm, 0.25 m/s, 12",
    "runs:",
    `  - { log: ${yamlText(log)}, configuration: bare, trajectory: orbit, block: <BLOCK> }`,
  ];
  return `${lines.join("\n")}\n`;
}

/** Which clock each signal is on: that of the vehicle's pose is the capture system's, all others are the vehicle's. */
function nameClocks(signals: ReadonlyMap<SignalName, TopicInspection>): ReadonlyMap<SignalName, string> {
  const captured = signals.get("vehicle_pose")?.clock ?? null;
  const others = [...signals.values()].some(({ clock }) => clock !== captured);
  return new Map([...signals].map(([signal, { clock }]) => [signal, others && clock === captured ? capture : onboard]));
}

function signalLines(
  signals: ReadonlyMap<SignalName, TopicInspection>,
  clocks: ReadonlyMap<SignalName, string> | null,
): string[] {
  const needed: readonly SignalName[] = ["vehicle_pose", "vehicle_setpoint"];
  return signalNames.flatMap((signal) => {
    const found = signals.get(signal);
    if (found === undefined) {
      if (!needed.includes(signal)) return [];
      const clock = clocks === null ? "" : `, clock: ${signal === "vehicle_pose" ? capture : onboard}`;
      return [`  ${signal}: { topic: <TOPIC>${clock} }     # needed; no topic of a known type seems to be it`];
    }
    const parts = [`topic: ${yamlText(found.topic)}`];
    if (clocks !== null) parts.push(`clock: ${clocks.get(signal)}`);
    if (found.children.length > 0)
      parts.push(`child: ${found.children.length === 1 ? yamlText(found.children[0]!) : "<CHILD>"}`);
    if (found.type === "sensor_msgs/JointState") parts.push("joint: <JOINT>");
    if (signal === "effector_command") parts.push("frame: <FRAME>");
    const remarks: string[] = [];
    if (found.children.length > 1) remarks.push(`child: ${found.children.slice(0, 6).map(oneLine).join(", ")}`);
    if (signal === "effector_command") remarks.push("frame: world, vehicle or arm_base");
    return [`  ${signal}: { ${parts.join(", ")} }${remarks.length > 0 ? `     # ${remarks.join("; ")}` : ""}`];
  });
}

function unknownTypes(topics: readonly TopicInspection[]): string[] {
  const unknown = topics.filter(({ known, messages }) => !known && messages > 0).slice(0, 12);
  if (unknown.length === 0) return [];
  return [
    "  # types not known by heart serve through fields, such as fields: { x: pose.x, y: pose.y, z: pose.z }:",
    ...unknown.map(({ topic, type }) => `  #   ${oneLine(topic)} (${oneLine(type)})`),
  ];
}

function clockLines(
  signals: ReadonlyMap<SignalName, TopicInspection>,
  clocks: ReadonlyMap<SignalName, string>,
): string[] {
  const sight = (["vehicle_rate", "vehicle_estimate"] as const).find((name) => clocks.get(name) === onboard);
  const rule =
    sight === undefined || !signals.has("vehicle_pose")
      ? "{ offset: <TIME> }     # its stamp minus the other clock's at one instant, such as -137 ms"
      : `{ same_motion: [vehicle_pose, ${sight}], search: 2 s }`;
  return ["clocks:", `  reference: ${onboard}`, `  ${capture}: ${rule}`];
}

/** Plain where YAML reads it as the same text, else quoted. */
function yamlText(text: string): string {
  return /^[A-Za-z/][A-Za-z0-9/_.-]*$/.test(text) && !/^(true|false|yes|no|on|off|null|y|n)$/i.test(text)
    ? text
    : JSON.stringify(text);
}

function oneLine(text: string): string {
  return text.replace(/[\p{Cc}\p{Zl}\p{Zp}]/gu, " ");
}
