import { type SignalName, signalNames } from "../../foundation/tracks.ts";
import type { CampaignSketch, LogDraft, SignalDraft } from "./CampaignSketch.ts";
import { oneLine, yamlText } from "./summariseDraft.ts";

/** Clock names in the draft: the capture system's, the vehicle's. */
const capture = "mocap";
const onboard = "onboard";
const needed: readonly SignalName[] = ["vehicle_pose", "vehicle_setpoint"];
const captured: readonly SignalName[] = ["vehicle_pose", "effector_pose"];

/** A signal, and under which of a run's logs it stands. */
export interface Placed extends SignalDraft {
  readonly log: string | null;
}

/** One draft a signal: the first log that has it. */
export function assign(logs: readonly LogDraft[]): ReadonlyMap<SignalName, Placed> {
  const found = new Map<SignalName, Placed>();
  for (const { name, signals } of logs)
    for (const draft of signals) if (!found.has(draft.signal)) found.set(draft.signal, { ...draft, log: name });
  return found;
}

/**
 * Which clock each signal is on: that of the vehicle's pose is the capture system's, all others are the vehicle's. Where all seem to
 * share one, and something shows the same motion on board, that is held against it all the same.
 */
export function nameClocks(
  signals: ReadonlyMap<SignalName, Placed>,
  sight: CampaignSketch["sight"],
): ReadonlyMap<SignalName, string> {
  const clockOf = ({ log, clock }: Placed): string | null => (log === null ? clock : `${log} ${clock}`);
  const pose = signals.get("vehicle_pose");
  const own = pose === undefined ? null : clockOf(pose);
  const isOther = [...signals.values()].some((draft) => clockOf(draft) !== own);
  // columns stamped by one column of a table were stamped together: what a gyro shows is held against that without a second clock
  const isTable = pose?.parts.some((part) => part.startsWith("columns:")) ?? false;
  const bySight = !isOther && !isTable && sight !== null && signals.has(sight);
  return new Map(
    [...signals].map(([signal, draft]) => {
      const isCaptures = bySight ? captured.includes(signal) : isOther && clockOf(draft) === own;
      return [signal, isCaptures ? capture : onboard];
    }),
  );
}

/** The lines of `signals`; what is needed and was not found is asked for. */
export function signalLines(
  signals: ReadonlyMap<SignalName, Placed>,
  clocks: ReadonlyMap<SignalName, string> | null,
  { asColumns, isPoints }: { readonly asColumns: boolean; readonly isPoints: boolean },
): string[] {
  // which of the two is asked beside the first that needs it; the others refer to that answer
  let isAsked = false;
  const axesOf = (signal: SignalName, { down }: SignalDraft): { parts: string[]; remarks: string[] } => {
    // battery and motors have no direction; of a command of the arm only its frame tells what would have to be turned
    if (!down || ["battery", "motors", "arm_effort", "effector_command", "arm_phase"].includes(signal))
      return { parts: [], remarks: [] };
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
      return needed.includes(signal) ? [askedLine(signal, signals, clocks, { asColumns, isPoints })] : [];
    }
    const axes = axesOf(signal, found);
    // without a pose of the tool the command gives the phase of the cycle alone, whatever frame it counts in
    const isPhase = signal === "effector_command" && !signals.has("effector_pose");
    const own = found.parts.map((part) => (isPhase && part === "frame: <FRAME>" ? "frame: arm_base" : part));
    const words = [...(isPhase ? ["no pose of the tool is judged by its frame"] : found.remarks), ...axes.remarks];
    const parts = [
      ...(found.log === null ? [] : [`log: ${yamlText(found.log)}`]),
      ...own,
      ...axes.parts,
      ...(clocks === null ? [] : [`clock: ${clocks.get(signal)}`]),
    ];
    const remarks = words.length > 0 ? `     # ${words.join("; ")}` : "";
    return [`  ${signal}: { ${parts.join(", ")} }${remarks}`];
  });
}

const armWords =
  "  # where an arm moves: a number that moves with it, such as a joint's angle, serves as arm_phase: { topic: ..., fields: { value: joints.0.angle } }";

/** The line of a signal that is needed and that nothing seems to be. */
function askedLine(
  signal: SignalName,
  signals: ReadonlyMap<SignalName, Placed>,
  clocks: ReadonlyMap<SignalName, string> | null,
  { asColumns, isPoints }: { readonly asColumns: boolean; readonly isPoints: boolean },
): string {
  const clock = clocks === null ? "" : `, clock: ${signal === "vehicle_pose" ? capture : onboard}`;
  if (asColumns)
    return `  ${signal}: { columns: { t: "<COLUMN>", x: "<COLUMN>", "y": "<COLUMN>", z: "<COLUMN>" }, units: { t: <UNIT>, position: <UNIT> }${clock} }     # needed; no names of columns tell which they are`;
  const isReckoned = signal === "vehicle_pose" && signals.has("vehicle_estimate");
  const why = isReckoned
    ? "the only pose here is what the vehicle reckons itself, by which it cannot be judged: add the capture's log"
    : isPoints
      ? "a point file holds none: it stands in an onboard log"
      : "nothing of a known type seems to be it";
  return `  ${signal}: { topic: <TOPIC>${clock} }     # needed; ${why}`;
}

/** Only where something is missing that they could give. */
export function unknownTypes(topics: LogDraft["unknown"], signals: ReadonlyMap<SignalName, Placed>): string[] {
  const unknown = topics.slice(0, 6);
  if (unknown.length === 0) return [];
  const showsArm = signals.has("effector_command") || signals.has("arm_phase");
  if (needed.every((signal) => signals.has(signal))) return showsArm ? [] : [armWords];
  const more = topics.length - unknown.length;
  return [
    ...(showsArm ? [] : [armWords]),
    "  # types not known by heart serve through fields, such as fields: { x: pose.x, y: pose.y, z: pose.z }:",
    ...unknown.map(({ topic, type }) => `  #   ${oneLine(topic)} (${oneLine(type)})`),
    ...(more > 0 ? [`  #   and ${more} more: counterpoise inspect LOG shows them`] : []),
  ];
}

/** Logs of two recorders may begin at any time; what one recorder wrote is placed by its receipt, to within a search. */
export function clockLines(
  signals: ReadonlyMap<SignalName, Placed>,
  clocks: ReadonlyMap<SignalName, string>,
  { twoLogs, sight: seen, gyroApart }: { twoLogs: boolean } & Pick<CampaignSketch, "sight" | "gyroApart">,
): string[] {
  const able = (["vehicle_rate", "vehicle_estimate"] as const).filter(
    (name) => clocks.get(name) === onboard && !(gyroApart && name === "vehicle_rate"),
  );
  const sight = able.find((name) => name === seen) ?? able[0];
  const rule =
    sight === undefined || !signals.has("vehicle_pose")
      ? "{ offset: <TIME> }     # nothing shows both clocks: its stamp minus the other's at one instant, such as -137 ms"
      : `{ same_motion: [vehicle_pose, ${sight}]${twoLogs ? "" : ", search: 2 s"} }`;
  return ["clocks:", `  reference: ${onboard}`, `  ${capture}: ${rule}`];
}
