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

/** A run to be filled in: its logs by name (null: the only one), and a block that suggests itself. */
export interface RunDraft {
  readonly logs: readonly { readonly name: string | null; readonly path: string }[];
  /** null: to be filled in */
  readonly configuration: string | null;
  readonly block: string | null;
  /** why it stands as a comment and not as a run; null where it is one */
  readonly left: string | null;
  /** what a person should know beside it */
  readonly remark: string | null;
}

/** Clock names in the draft: the capture system's, the vehicle's. */
const capture = "mocap";
const onboard = "onboard";
const needed: readonly SignalName[] = ["vehicle_pose", "vehicle_setpoint"];

/**
 * A `campaign.yaml` to start from: the signals that the logs seem to hold, the clocks they seem to share, the runs, and places
 * to fill in, written `<LIKE THIS>`. With the places filled in, it is a manifest.
 *
 * @param options.pairedBy  what shows which logs make up a run, where a run has several; null: nothing does
 * @param options.statics   paths of logs in which nothing moves
 */
export function manifestDraft(
  logs: readonly LogDraft[],
  runs: readonly RunDraft[],
  { pairedBy, statics }: { pairedBy: string | null; statics: readonly string[] } = { pairedBy: null, statics: [] },
): string {
  const signals = assign(logs);
  const clocks = nameClocks(signals);
  const twoClocks = new Set(clocks.values()).size > 1;
  const lines = [
    "title: <TITLE>",
    "baseline: bare",
    "candidate: weighted",
    "smallest_difference: <LENGTH>     # the smallest change that would matter, such as 1.5 mm",
    "configurations:",
    "  bare: { label: <LABEL> }",
    "  weighted: { label: <LABEL>, added_mass: <MASS> }     # such as 540 g",
    "# frames:     # what was surveyed; what is left out is taken as zero",
    "#   world: { up: z }     # which axis of the capture points up: z or y",
    "#   tool_point: [0 mm, 0 mm, -45 mm]     # control point in the effector's marker frame",
    "#   arm_base: [60 mm, 0 mm, -120 mm]     # in the vehicle's body frame",
    "signals:",
    ...signalLines(
      signals,
      twoClocks ? clocks : null,
      logs.some(({ isTable }) => isTable),
    ),
    ...unknownTypes(logs.flatMap(({ unknown }) => unknown)),
    ...(twoClocks ? clockLines(signals, clocks, logs.length > 1) : []),
    "trajectories:     # shape: circle, line, hold or logged",
    "  orbit: { shape: circle, plane: <PLANE>, radius: <RADIUS>, speed: <SPEED>, cycles: <COUNT> }     # such as yz, 60 mm, 0.25 m/s, 12",
    ...(statics.length === 0
      ? []
      : [
          `static_captures: [${statics.map(yamlText).join(", ")}]     # nothing moves in them: the noise of the capture`,
        ]),
    `runs:${logs.length < 2 ? "" : `     # ${pairedBy === null ? "neither names nor times tell which logs go together: write each run with its logs" : `logs paired ${pairedBy}: check each pair`}`}`,
    ...runs.map(runLine),
  ];
  return `${lines.join("\n")}\n`;
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

/** Which clock each signal is on: that of the vehicle's pose is the capture system's, all others are the vehicle's. */
function nameClocks(signals: ReadonlyMap<SignalName, Placed>): ReadonlyMap<SignalName, string> {
  const clockOf = ({ log, clock }: Placed): string | null => (log === null ? clock : `${log} ${clock}`);
  const pose = signals.get("vehicle_pose");
  const captured = pose === undefined ? null : clockOf(pose);
  const others = [...signals.values()].some((draft) => clockOf(draft) !== captured);
  return new Map(
    [...signals].map(([signal, draft]) => [signal, others && clockOf(draft) === captured ? capture : onboard]),
  );
}

function signalLines(
  signals: ReadonlyMap<SignalName, Placed>,
  clocks: ReadonlyMap<SignalName, string> | null,
  asColumns: boolean,
): string[] {
  return signalNames.flatMap((signal) => {
    const found = signals.get(signal);
    if (found === undefined) {
      if (!needed.includes(signal)) return [];
      const clock = clocks === null ? "" : `, clock: ${signal === "vehicle_pose" ? capture : onboard}`;
      return [
        asColumns
          ? `  ${signal}: { columns: { t: "<COLUMN>", x: "<COLUMN>", "y": "<COLUMN>", z: "<COLUMN>" }, units: { t: <UNIT>, position: <UNIT> }${clock} }     # needed; no names of columns tell which they are`
          : `  ${signal}: { topic: <TOPIC>${clock} }     # needed; nothing of a known type seems to be it`,
      ];
    }
    const parts = [
      ...(found.log === null ? [] : [`log: ${yamlText(found.log)}`]),
      ...found.parts,
      ...(clocks === null ? [] : [`clock: ${clocks.get(signal)}`]),
    ];
    const remarks = found.remarks.length > 0 ? `     # ${found.remarks.join("; ")}` : "";
    return [`  ${signal}: { ${parts.join(", ")} }${remarks}`];
  });
}

function unknownTypes(topics: LogDraft["unknown"]): string[] {
  const unknown = topics.slice(0, 12);
  if (unknown.length === 0) return [];
  return [
    "  # types not known by heart serve through fields, such as fields: { x: pose.x, y: pose.y, z: pose.z }:",
    ...unknown.map(({ topic, type }) => `  #   ${oneLine(topic)} (${oneLine(type)})`),
  ];
}

/** Logs of two recorders may begin at any time; what one recorder wrote is placed by its receipt, to within a search. */
function clockLines(
  signals: ReadonlyMap<SignalName, Placed>,
  clocks: ReadonlyMap<SignalName, string>,
  twoLogs: boolean,
): string[] {
  const sight = (["vehicle_rate", "vehicle_estimate"] as const).find((name) => clocks.get(name) === onboard);
  const rule =
    sight === undefined || !signals.has("vehicle_pose")
      ? "{ offset: <TIME> }     # its stamp minus the other clock's at one instant, such as -137 ms"
      : `{ same_motion: [vehicle_pose, ${sight}]${twoLogs ? "" : ", search: 2 s"} }`;
  return ["clocks:", `  reference: ${onboard}`, `  ${capture}: ${rule}`];
}

function runLine({ logs, configuration, block, left, remark }: RunDraft): string {
  const named = logs.map(({ name, path }) => (name === null ? yamlText(path) : `${yamlText(name)}: ${yamlText(path)}`));
  const log = logs[0]?.name === null ? `log: ${named[0]}` : `logs: { ${named.join(", ")} }`;
  const rest = `configuration: ${configuration ?? "<CONFIGURATION>"}, trajectory: orbit, block: ${block === null ? "<BLOCK>" : yamlText(block)}`;
  const beside = remark === null ? "" : `     # ${oneLine(remark)}`;
  return left === null ? `  - { ${log}, ${rest} }${beside}` : `  # left out, ${oneLine(left)}: ${oneLine(log)}`;
}
