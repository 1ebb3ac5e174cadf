import * as z from "zod";
import { type SignalName, signalNames } from "../../foundation/tracks.ts";
import type { Vector3 } from "../../foundation/units.ts";
import type { Campaign, SignalAxes, SignalSource } from "../campaign.ts";
import { choice, mapping, optional, text, triple, withDefault } from "./fields.ts";
import type { Complaint } from "./problems.ts";
import type { Reading } from "./reading.ts";
import { lackingColumns, unknownColumn, wrongUnit } from "./signalColumns.ts";
import { isMapping, type Path, type TextMapping, type TextTree } from "./textTree.ts";

type Signals = Campaign["signals"];

/** Without these there is no tracking error. */
const needed: readonly SignalName[] = ["vehicle_pose", "vehicle_setpoint"];
const signalWords: Readonly<Record<SignalName, string>> = {
  vehicle_pose: "where the vehicle is, by the motion capture",
  effector_pose: "where the arm's tool is, by the motion capture",
  vehicle_setpoint: "where the vehicle is asked to be",
  effector_command: "where the tool is asked to be",
  arm_phase:
    "any number that moves with the arm, such as a joint's angle: shows windows and cycles where no command in metres does",
  vehicle_rate: "the vehicle's gyro: shows the clocks' offset",
  vehicle_estimate: "where the vehicle reckons to be: shows the clocks' offset, less well",
  battery: "voltage of the vehicle's pack",
  motors: "the motors' commands",
  arm_effort: "torque of a joint or current of a servo, in any unit: what the counterweights take off it",
};

/** The clock of all signals where none names one. */
export const onlyClock = "only";

const names = {
  columns: "columns by name",
  fields: "fields by name",
  units: "units by name",
  markers: "places of markers by their labels",
};
const axes = mapping(
  {
    world: withDefault(choice(["enu", "ned", "frd"], "the axes of the world it is logged in"), "enu").describe(
      "enu: z up; ned: x north, y east, z down; frd: x forward, y right, z down",
    ),
    body: optional(choice(["flu", "frd"], "the axes of the body it is logged in")).describe(
      "flu: x forward, y left, z up; frd: x forward, y right, z down",
    ),
  },
  "axes",
);
const place = triple("length", "a place of three lengths such as [60 mm, 0 mm, -12 mm]");
const nameInLog = text("a name");
const source = mapping(
  {
    topic: optional(text("the topic's name")).describe("of a log of messages"),
    clock: optional(text("the name of a clock")).describe("the clock that stamped it; for every signal or for none"),
    log: optional(text("one of the names under a run's logs")).describe("which of a run's `logs` has it"),
    frame: optional(choice(["world", "vehicle", "arm_base"], "the frame of the command")).describe(
      "where the arm's command counts from",
    ),
    child: optional(text("the child frame of a transform tree")).describe("the child frame of a transform tree"),
    body: optional(text("the name or number of a body in messages that hold several")).describe(
      "the name or number of a body in messages that hold several",
    ),
    joint: optional(text("the name of a joint")).describe("of arm_phase: which joint of a sensor_msgs/JointState"),
    fields: optional(namedTexts(names.fields)).describe(
      "for a type that is not known: where its numbers stand, such as { x: pose.x, y: pose.y, z: pose.z }",
    ),
    columns: optional(namedTexts(names.columns)).describe(
      'of a table: the names of its columns, such as { t: "time [s]", x: px, y: py, z: pz }',
    ),
    units: optional(namedTexts(names.units)).describe(
      "of numbers whose unit nothing says, such as { t: ms, position: mm, angle: deg, rate: deg/s }; t: iso for dates, t: 100 Hz for numbers of frames",
    ),
    markers: optional(namedTexts(names.markers).meta({ additionalProperties: { type: "array" } })).describe(
      "of a point file: the places of the body's markers by their labels",
    ),
    axes: optional(axes).describe("where it is not logged with z up and x forward, y left"),
    stamp: withDefault(choice(["header", "log"], "which stamp to use"), "header").describe(
      "the stamp of the message, or when the log received it",
    ),
    between: optional(choice(["hold", "linear"], "what a command means between two messages")).describe(
      "what a command means between two messages",
    ),
  },
  "a signal",
);
/** Every signal there is; two of them are needed. */
export const signalsField = z.strictObject(
  Object.fromEntries(
    signalNames.map((name) => [name, (needed.includes(name) ? source : optional(source)).describe(signalWords[name])]),
  ),
);

/** Passed on as it is; `readNamedTexts` reads it with the places of its keys. */
function namedTexts(what: string) {
  return mapping({}, what)
    .loose()
    .meta({ additionalProperties: { type: ["string", "number"] } });
}

/** Where each signal comes from. `vehicle_pose` and `vehicle_setpoint` are required. */
export function readSignals(reading: Reading, root: TextMapping): Signals {
  const tree = reading.mapping(root.signals, ["signals"], "a mapping from signals to their topics");
  if (tree === null) return {};
  const signals: Partial<Record<SignalName, SignalSource>> = {};
  for (const [key, entry] of Object.entries(tree)) {
    const name = signalNames.find((known) => known === key);
    if (name === undefined) reading.unknownKey(["signals", key], signalNames);
    else {
      const found = readSource(reading, name, entry);
      if (found !== null) signals[name] = found;
    }
  }
  for (const name of needed) {
    if (name in tree || reading.isMeant(["signals", name])) continue;
    const message = `found no ${name}, expected it: without it there is no tracking error`;
    reading.complain(["signals"], message, `add ${name}: { topic: ... }`);
  }
  return oneClock(signals);
}

/** Where no signal names a clock, all share one. */
function oneClock(signals: Signals): Signals {
  if (Object.values(signals).some(({ clock }) => clock !== "")) return signals;
  return Object.fromEntries(Object.entries(signals).map(([name, signal]) => [name, { ...signal, clock: onlyClock }]));
}

function readSource(reading: Reading, name: SignalName, entry: TextTree): SignalSource | null {
  const path = ["signals", name];
  const found = reading.read(source, entry ?? undefined, path);
  if (found === null || !isMapping(entry)) return null;
  const { topic, clock, log, child, joint, stamp, between } = found;
  const columns = readNamedTexts(reading, entry.columns, [...path, "columns"]);
  const fields = readNamedTexts(reading, entry.fields, [...path, "fields"]);
  const units = readNamedTexts(reading, entry.units, [...path, "units"]);
  const markers = readMarkers(reading, name, entry.markers, [...path, "markers"]);
  checkOrigin(reading, path, found);
  checkJoint(reading, name, found);
  checkColumns(reading, name, { columns, fields, units });
  const frame = commandFrame(reading, name, found.frame);
  const body = found.body === null ? {} : { body: found.body };
  const origin = { topic, clock: clock ?? "", log, child, ...body, joint, fields, columns, units, markers };
  return { ...origin, frame, axes: readAxes(reading, name, { axes: found.axes, frame, path }), stamp, between };
}

/** Signals that have a position, which markers can give. */
const poses: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_estimate"];

/** Signals that know no direction in space. */
const directionless: readonly SignalName[] = ["arm_phase", "battery", "motors", "arm_effort"];

/** One marker gives a point, three or more a pose; two fix no attitude. */
function readMarkers(
  reading: Reading,
  name: SignalName,
  tree: TextTree | undefined,
  path: Path,
): Record<string, Vector3> | null {
  if (!isMapping(tree)) return null;
  if (!poses.includes(name)) {
    reading.complain(path, `found markers for ${name}, expected them only for ${poses.join(", ")}`);
    return null;
  }
  const markers: Record<string, Vector3> = {};
  for (const [label, value] of Object.entries(tree)) {
    const found = reading.read(place, value, [...path, label]);
    if (found !== null) markers[label] = found;
  }
  const count = Object.keys(tree).length;
  if (count === 0 || count === 2)
    reading.complain(
      path,
      `found ${count} markers, expected one (a point) or at least three (a pose)`,
      "two points fix no attitude",
    );
  const alone = count === 1 ? Object.entries(markers)[0] : undefined;
  if (alone?.[1].some((metres) => metres !== 0))
    reading.complain(
      [...path, alone[0]],
      `found a place for the only marker ${alone[0]}, expected [0 mm, 0 mm, 0 mm]: one marker shows no attitude, so the point is the marker itself`,
      "declare three markers or more to have the body's own origin",
    );
  return markers;
}

/** Who logs a world with z down logs the body so as well, unless it says otherwise. */
function readAxes(
  reading: Reading,
  name: SignalName,
  { axes: found, frame, path }: { axes: z.output<typeof axes> | null; frame: SignalSource["frame"]; path: Path },
): SignalAxes | null {
  if (found === null) return null;
  const at = [...path, "axes"];
  if (directionless.includes(name))
    reading.complain(at, `found axes for ${name}, which has no direction`, "leave them out");
  if (frame !== "world" && found.world !== "enu")
    reading.complain(at, `found axes of the world for a command in the frame ${frame}`, "say body: frd instead");
  return { world: found.world, body: found.body ?? (found.world === "enu" ? "flu" : "frd") };
}

function readNamedTexts(reading: Reading, tree: TextTree | undefined, path: Path): Record<string, string> | null {
  if (!isMapping(tree)) return null;
  const texts: Record<string, string> = {};
  for (const [key, value] of Object.entries(tree)) {
    const found = reading.read(nameInLog, value, [...path, key]);
    if (found !== null) texts[key] = found;
  }
  return texts;
}

function checkOrigin(
  reading: Reading,
  path: Path,
  found: {
    topic: string | null;
    columns: unknown;
    markers: unknown;
    fields: unknown;
    child: string | null;
    body: string | null;
    joint: string | null;
  },
): void {
  const origins = ["topic", "columns", "markers"] as const;
  const given = origins.filter((key) => found[key] !== null);
  if (given.length !== 1) {
    const what = given.length === 0 ? "neither topic nor columns" : `both ${given.join(" and ")}`;
    const message = `found ${what}, expected one of them`;
    reading.complain(path, message, "topic for a log of messages, columns for a table, markers for a point file");
  }
  for (const key of ["child", "body", "joint", "fields"] as const) {
    if (found[key] === null || found.topic !== null) continue;
    reading.complain(
      [...path, key],
      `found ${key} without topic, expected it only beside a topic`,
      "a table has columns",
    );
  }
}

/** A joint is one number: no place of a tool, but what moves with the arm. */
function checkJoint(
  reading: Reading,
  name: SignalName,
  { joint, fields }: { joint: string | null; fields: unknown },
): void {
  if (joint === null) return;
  const path = ["signals", name, "joint"];
  if (name !== "arm_phase")
    reading.complain(
      path,
      `found a joint for ${name}, expected it only for arm_phase: a joint is one number, no place in metres`,
      "arm_phase: { topic: ..., joint: ... } gives windows, cycles and phase; the effector needs its command in metres",
    );
  else if (fields !== null)
    reading.complain(
      path,
      "found joint beside fields, expected one of them",
      "joint is the name of a joint in a sensor_msgs/JointState; fields say where the number is in other types",
    );
}

function checkColumns(
  reading: Reading,
  name: SignalName,
  maps: Readonly<Record<"columns" | "fields" | "units", Record<string, string> | null>>,
): void {
  const path = ["signals", name];
  const complain = (at: Path, complaint: Complaint | null): void => {
    if (complaint !== null) reading.complain(at, complaint.message, complaint.hint);
  };
  for (const kind of ["columns", "fields"] as const) {
    const keys = maps[kind] === null ? null : Object.keys(maps[kind]);
    for (const key of keys ?? []) {
      const unknown = unknownColumn(name, key);
      if (unknown !== null) reading.complainOfKey([...path, kind, key], unknown.message, unknown.hint);
    }
    if (keys?.every((key) => unknownColumn(name, key) === null)) {
      complain([...path, kind], lackingColumns(name, keys, kind));
    }
  }
  const declared = Object.keys({ ...maps.columns, ...maps.fields });
  for (const [key, unit] of Object.entries(maps.units ?? {}))
    complain([...path, "units", key], wrongUnit(key, unit, declared));
}

/** A guessed frame would be wrong without a sign of it, so the effector command has to say. */
function commandFrame(reading: Reading, name: SignalName, frame: SignalSource["frame"] | null): SignalSource["frame"] {
  const path = ["signals", name];
  if (name === "effector_command") {
    if (frame !== null) return frame;
    reading.complain(
      path,
      "found no frame, expected frame: world, vehicle or arm_base",
      "say in which frame the arm is commanded",
    );
  } else if (frame !== null && frame !== "world") {
    const message = `found frame ${JSON.stringify(frame)}, expected it only for effector_command`;
    reading.complain([...path, "frame"], message, `leave it out: ${name} is in its own world or body frame`);
  }
  return "world";
}
