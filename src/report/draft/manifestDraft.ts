import type { Span } from "../../contract/campaign.ts";
import type { CommandShape } from "../../contract/inspection.ts";
import { type SignalName, signalNames } from "../../foundation/signals.ts";
import type { SignalDraft } from "./SignalDraft.ts";
import { oneLine, yamlText } from "./yamlText.ts";

/** One kind of log that a run has: its name under `logs`, and the signals it seems to hold. */
export interface LogDraft {
  /** null where a run has one log */
  readonly name: string | null;
  /** its signals are columns, not topics */
  readonly isTable: boolean;
  readonly signals: readonly SignalDraft[];
  /** topics of types that are not known by heart */
  readonly unknown: readonly { readonly topic: string; readonly type: string }[];
}

/** What some runs were asked for, and which. */
export interface TrajectoryDraft {
  readonly name: string;
  /** null: no command tells */
  readonly shape: CommandShape | null;
  readonly runs: readonly number[];
}

/** A run: its logs by name (null: the only one), and how it seems to be filed. */
export interface RunDraft {
  readonly logs: readonly { readonly name: string | null; readonly path: string }[];
  /** null: called by its log */
  readonly id: string | null;
  readonly span: Span | null;
  /** null: only a person knows */
  readonly configuration: string | null;
  readonly trajectory: string;
  readonly block: string | null;
  /** ISO 8601 */
  readonly started: string | null;
  /** what a person should know beside it */
  readonly remark: string | null;
}

/** A campaign as far as its logs tell. */
export interface CampaignSketch {
  readonly title: string;
  readonly logs: readonly LogDraft[];
  /** null: nothing in the names tells which run flew how; the baseline null: nor which of them it is */
  readonly configurations: { readonly names: readonly string[]; readonly baseline: string | null } | null;
  readonly trajectories: readonly TrajectoryDraft[];
  readonly runs: readonly RunDraft[];
  /** logs that are no runs, and why */
  readonly left: readonly { readonly path: string; readonly why: string }[];
  /** paths of logs in which nothing moves */
  readonly statics: readonly string[];
  /** what shows which logs make up a run, where a run has several; null: nothing does */
  readonly pairedBy: string | null;
  /** what shows the capture's clock where all signals seem to share one; null: nothing does */
  readonly sight: "vehicle_rate" | "vehicle_estimate" | null;
}

/** Clock names in the draft: the capture system's, the vehicle's. */
const capture = "mocap";
const onboard = "onboard";
const needed: readonly SignalName[] = ["vehicle_pose", "vehicle_setpoint"];
const captured: readonly SignalName[] = ["vehicle_pose", "effector_pose"];

/**
 * A `campaign.yaml` to start from: what the logs show, and places to fill in, written `<LIKE THIS>`, for what only a person knows,
 * each asked once. With the places filled in, it is a manifest.
 */
export function manifestDraft(sketch: CampaignSketch): string {
  const { logs, runs, left, statics, pairedBy } = sketch;
  const signals = assign(logs);
  const hasArm = signals.has("effector_pose") || signals.has("effector_command");
  const clocks = nameClocks(signals, sketch.sight);
  const twoClocks = new Set(clocks.values()).size > 1;
  const lines = [
    `title: ${yamlText(sketch.title)}`,
    ...configurationLines(sketch, hasArm),
    ...frameLines(signals),
    "signals:",
    ...signalLines(
      signals,
      twoClocks ? clocks : null,
      logs.some(({ isTable }) => isTable),
    ),
    ...unknownTypes(
      logs.flatMap(({ unknown }) => unknown),
      signals,
    ),
    ...(twoClocks ? clockLines(signals, clocks, { twoLogs: logs.length > 1, sight: sketch.sight }) : []),
    ...trajectoryLines(sketch.trajectories, runs.length, signals.has("effector_command") ? "arm's" : "vehicle's"),
    ...(statics.length === 0
      ? []
      : [
          `static_captures: [${statics.map(yamlText).join(", ")}]     # nothing moves in them: the noise of the capture`,
        ]),
    `runs:${logs.length < 2 ? "" : `     # ${pairedBy === null ? "neither names nor times tell which logs go together: write each run with its logs" : `logs paired ${pairedBy}: check each pair`}`}`,
    ...runs.map(runLine),
    ...left.map(({ path, why }) => `  # left out, ${oneLine(why)}: log: ${oneLine(yamlText(path))}`),
  ];
  return `${lines.join("\n")}\n`;
}

/** Which run flew how is asked in one line, where no name tells. */
function configurationLines({ configurations, runs }: CampaignSketch, hasArm: boolean): string[] {
  const difference = "smallest_difference: <LENGTH>     # the smallest change that would matter, such as 1.5 mm";
  if (configurations === null) {
    const [base, other] = hasArm ? ["bare", "weighted"] : ["reference", "changed"];
    const sample = runs.slice(0, 2).map((run) => run.id ?? plainName(run.logs[0]!.path));
    return [
      `baseline: ${base}`,
      `candidate: ${other}`,
      difference,
      "configurations:",
      `  ${base}: { label: ${base} }     # the runs that no other lists`,
      `  ${other}: { label: ${other}, runs: <RUNS>${hasArm ? ", added_mass: <MASS>" : ""} }     # the runs flown so, such as [${sample.map(yamlText).join(", ")}]${hasArm ? "; what was added, such as 540 g" : ""}`,
    ];
  }
  const { names, baseline } = configurations;
  const rest = names.filter((name) => name !== baseline);
  const listed = names.map((name) => oneLine(name)).join(", ");
  return [
    `baseline: ${baseline === null ? "<BASELINE>" : yamlText(baseline)}${baseline === null ? `     # of ${listed}: what the others are compared with` : ""}`,
    `candidate: ${baseline !== null && rest.length === 1 ? yamlText(rest[0]!) : `<CANDIDATE>     # of ${listed}`}`,
    difference,
    "configurations:     # as the names of the logs tell them apart",
    ...names.map((name) => {
      const asks = hasArm && baseline !== null && name !== baseline;
      return `  ${yamlText(name)}: { label: ${yamlText(name)}${asks ? ", added_mass: <MASS>" : ""} }${asks ? "     # what was added, such as 540 g" : ""}`;
    }),
  ];
}

/** As a list of runs may call it: without folder and ending. */
function plainName(path: string): string {
  return (path.split(/[/\\]/).at(-1) ?? path).replace(/(?<=.)\.[^.]*$/, "");
}

/** What has to be measured by hand where there is an arm. */
function frameLines(signals: ReadonlyMap<SignalName, Placed>): string[] {
  const command = signals.get("effector_command");
  const isPlaced = command !== undefined && !command.parts.includes("frame: world");
  const lines = [
    ...(signals.has("effector_pose")
      ? [
          "  tool_point: <TOOL_POINT>     # the point that works, in the frame of the tool's markers, such as [0 mm, 0 mm, -45 mm]",
        ]
      : []),
    ...(isPlaced && signals.has("effector_pose")
      ? [
          "  arm_base: <ARM_BASE>     # where the arm's command counts from, in the vehicle's body frame, such as [60 mm, 0 mm, -120 mm]",
        ]
      : []),
  ];
  return lines.length === 0 ? [] : ["frames:     # as measured on the vehicle", ...lines];
}

interface Placed extends SignalDraft {
  readonly log: string | null;
}

/** One draft a signal: the first log that has it. */
function assign(logs: readonly LogDraft[]): ReadonlyMap<SignalName, Placed> {
  const found = new Map<SignalName, Placed>();
  for (const { name, signals } of logs)
    for (const draft of signals) if (!found.has(draft.signal)) found.set(draft.signal, { ...draft, log: name });
  return found;
}

/**
 * Which clock each signal is on: that of the vehicle's pose is the capture system's, all others are the vehicle's. Where all seem to
 * share one, and something shows the same motion on board, that is held against it all the same.
 */
function nameClocks(
  signals: ReadonlyMap<SignalName, Placed>,
  sight: CampaignSketch["sight"],
): ReadonlyMap<SignalName, string> {
  const clockOf = ({ log, clock }: Placed): string | null => (log === null ? clock : `${log} ${clock}`);
  const pose = signals.get("vehicle_pose");
  const own = pose === undefined ? null : clockOf(pose);
  const isOther = [...signals.values()].some((draft) => clockOf(draft) !== own);
  const bySight = !isOther && sight !== null && signals.has(sight);
  return new Map(
    [...signals].map(([signal, draft]) => {
      const isCaptures = bySight ? captured.includes(signal) : isOther && clockOf(draft) === own;
      return [signal, isCaptures ? capture : onboard];
    }),
  );
}

function signalLines(
  signals: ReadonlyMap<SignalName, Placed>,
  clocks: ReadonlyMap<SignalName, string> | null,
  asColumns: boolean,
): string[] {
  // which of the two is asked beside the first that needs it; the others refer to that answer
  let isAsked = false;
  const axesOf = (signal: SignalName, { down }: SignalDraft): { parts: string[]; remarks: string[] } => {
    // battery and motors have no direction; of a command of the arm only its frame tells what would have to be turned
    if (!down || ["battery", "motors", "effector_command"].includes(signal)) return { parts: [], remarks: [] };
    if (signal === "vehicle_rate") return { parts: ["axes: { body: frd }"], remarks: [] };
    if (isAsked) return { parts: ["axes: *world"], remarks: [] };
    isAsked = true;
    return {
      parts: ["axes: &world { world: <WORLD> }"],
      remarks: ["world: ned (x north, y east) or frd (x forward, y right), both with z down"],
    };
  };
  return signalNames.flatMap((signal) => {
    const found = signals.get(signal);
    if (found === undefined) {
      if (!needed.includes(signal)) return [];
      const isReckoned = signal === "vehicle_pose" && signals.has("vehicle_estimate");
      const clock = clocks === null ? "" : `, clock: ${signal === "vehicle_pose" ? capture : onboard}`;
      return [
        asColumns
          ? `  ${signal}: { columns: { t: "<COLUMN>", x: "<COLUMN>", "y": "<COLUMN>", z: "<COLUMN>" }, units: { t: <UNIT>, position: <UNIT> }${clock} }     # needed; no names of columns tell which they are`
          : `  ${signal}: { topic: <TOPIC>${clock} }     # needed; ${isReckoned ? "the only pose here is what the vehicle reckons itself, by which it cannot be judged: add the capture's log" : "nothing of a known type seems to be it"}`,
      ];
    }
    const axes = axesOf(signal, found);
    const words = [...found.remarks, ...axes.remarks];
    const parts = [
      ...(found.log === null ? [] : [`log: ${yamlText(found.log)}`]),
      ...found.parts,
      ...axes.parts,
      ...(clocks === null ? [] : [`clock: ${clocks.get(signal)}`]),
    ];
    const remarks = words.length > 0 ? `     # ${words.join("; ")}` : "";
    return [`  ${signal}: { ${parts.join(", ")} }${remarks}`];
  });
}

/** Only where something is missing that they could give. */
function unknownTypes(topics: LogDraft["unknown"], signals: ReadonlyMap<SignalName, Placed>): string[] {
  const unknown = topics.slice(0, 6);
  if (unknown.length === 0 || needed.every((signal) => signals.has(signal))) return [];
  const more = topics.length - unknown.length;
  return [
    "  # types not known by heart serve through fields, such as fields: { x: pose.x, y: pose.y, z: pose.z }:",
    ...unknown.map(({ topic, type }) => `  #   ${oneLine(topic)} (${oneLine(type)})`),
    ...(more > 0 ? [`  #   and ${more} more: counterpoise inspect LOG shows them`] : []),
  ];
}

/** Logs of two recorders may begin at any time; what one recorder wrote is placed by its receipt, to within a search. */
function clockLines(
  signals: ReadonlyMap<SignalName, Placed>,
  clocks: ReadonlyMap<SignalName, string>,
  { twoLogs, sight: seen }: { twoLogs: boolean; sight: CampaignSketch["sight"] },
): string[] {
  const able = (["vehicle_rate", "vehicle_estimate"] as const).filter((name) => clocks.get(name) === onboard);
  const sight = able.find((name) => name === seen) ?? able[0];
  const rule =
    sight === undefined || !signals.has("vehicle_pose")
      ? "{ offset: <TIME> }     # nothing shows both clocks: its stamp minus the other's at one instant, such as -137 ms"
      : `{ same_motion: [vehicle_pose, ${sight}]${twoLogs ? "" : ", search: 2 s"} }`;
  return ["clocks:", `  reference: ${onboard}`, `  ${capture}: ${rule}`];
}

function trajectoryLines(trajectories: readonly TrajectoryDraft[], count: number, whose: string): string[] {
  if (count === 0) return [`trajectories: { flown: ${asked} }`];
  return [
    "trajectories:",
    ...trajectories.map(({ name, shape, runs }) => {
      const alone = runs.length === 1 && count > 2 ? "; alone among the logs: check that it is meant" : "";
      const from = `from the ${whose} command of ${runs.length} of ${count} runs${alone}`;
      return shape === null
        ? `  ${name}: ${asked}     # no command tells; or shape: line, hold or logged`
        : `  ${name}: ${shapeText(shape)}     # ${from}`;
    }),
  ];
}

const asked = "{ shape: circle, plane: <PLANE>, radius: <RADIUS>, period: <PERIOD>, cycles: <COUNT> }";

/** A trajectory in the words of a manifest. */
export function shapeText(shape: CommandShape): string {
  const period = (seconds: number): string => `period: ${digits(seconds, 4)} s`;
  switch (shape.shape) {
    case "circle":
      return `{ shape: circle, plane: ${shape.plane}, radius: ${digits(1e3 * shape.radius, 3)} mm, ${period(shape.period)}, cycles: ${shape.cycles} }`;
    case "line":
      return `{ shape: line, axis: ${yamlText(shape.axis)}, stroke: ${digits(1e3 * shape.stroke, 3)} mm, ${period(shape.period)}, cycles: ${shape.cycles} }`;
    case "hold":
      return `{ shape: hold, duration: ${Math.max(1, Math.floor(shape.duration))} s }`;
    case "logged":
      return `{ shape: logged${shape.period === null ? "" : `, ${period(shape.period)}`} }`;
  }
}

function digits(value: number, count: number): number {
  return Number(value.toPrecision(count));
}

function runLine({ logs, id, span, configuration, trajectory, block, started, remark }: RunDraft): string {
  const named = logs.map(({ name, path }) => (name === null ? yamlText(path) : `${yamlText(name)}: ${yamlText(path)}`));
  const parts = [
    logs[0]?.name === null ? `log: ${named[0]}` : `logs: { ${named.join(", ")} }`,
    ...(id === null ? [] : [`id: ${yamlText(id)}`]),
    ...(span === null ? [] : [`span: [${span[0]} s, ${span[1]} s]`]),
    ...(configuration === null ? [] : [`configuration: ${yamlText(configuration)}`]),
    `trajectory: ${yamlText(trajectory)}`,
    ...(block === null ? [] : [`block: ${yamlText(block)}`]),
    ...(started === null ? [] : [`started: "${started}"`]),
  ];
  return `  - { ${parts.join(", ")} }${remark === null ? "" : `     # ${oneLine(remark)}`}`;
}
