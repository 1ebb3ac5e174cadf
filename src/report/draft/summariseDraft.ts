import type { DraftSummary } from "../../contract/inspection.ts";
import { type SignalName, signalNames } from "../../foundation/tracks.ts";
import type { CampaignSketch, SignalDraft } from "./CampaignSketch.ts";

/**
 * What a draft's logs are, what could be judged by them, and what is missing for it.
 *
 * @param manifest  the draft's text
 */
export function summariseDraft(sketch: CampaignSketch, manifest: string): DraftSummary {
  const signals = new Map<SignalName, SignalDraft>();
  for (const draft of sketch.logs.flatMap((log) => log.signals))
    if (!signals.has(draft.signal)) signals.set(draft.signal, draft);
  const has = (signal: SignalName): boolean => signals.has(signal);
  const flies = has("vehicle_pose") && has("vehicle_setpoint") && sketch.runs.length > 0;
  const works = flies && has("effector_pose") && has("effector_command");
  const days = new Set(sketch.runs.flatMap(({ block }) => (block?.startsWith("day-") ? [block] : [])));
  const places = manifest.replace(/ {5}# .*$/gm, "").match(/<[A-Z_]+>/g) ?? [];
  return {
    runs: sketch.runs.length,
    statics: sketch.statics.length,
    days: days.size === 0 ? null : days.size,
    trajectories: sketch.trajectories.map(({ name, shape, runs }) => ({ name, shape, runs: runs.length })),
    configurations: sketch.configurations?.names ?? null,
    signals: signalNames.flatMap((signal) => {
      const found = signals.get(signal);
      if (found === undefined) return [];
      return [{ signal, origin: found.place === "asked" ? null : found.place, rate: found.rate }];
    }),
    subjects: [...(flies ? (["vehicle"] as const) : []), ...(works ? (["effector", "arm"] as const) : [])],
    lacking: [...lackingSignals(has), ...(flies ? lackingHelp(has, sketch) : [])],
    asks: [...new Set(places)],
    remarks: sketch.runs.flatMap(({ logs, remark }) =>
      remark === null ? [] : [{ path: logs[0]!.path, words: remark }],
    ),
    left: sketch.left,
  };
}

function lackingSignals(has: (signal: SignalName) => boolean): string[] {
  const found: string[] = [];
  if (!has("vehicle_pose"))
    found.push(
      has("vehicle_estimate")
        ? "no pose of the vehicle but what it reckons itself, by which it cannot be judged: add the capture's logs"
        : "no pose of the vehicle: add the capture's logs",
    );
  if (!has("vehicle_setpoint")) found.push("no setpoint of the vehicle: without it there is no tracking error");
  if (has("effector_pose") && !has("effector_command"))
    found.push(`no command of the arm${has("arm_phase") ? " in metres" : ""}: the effector is not judged`);
  if (has("effector_command") && !has("effector_pose")) found.push("no pose of the effector: it is not judged");
  return found;
}

function lackingHelp(has: (signal: SignalName) => boolean, { statics }: CampaignSketch): string[] {
  return [
    ...(has("vehicle_rate") || has("vehicle_estimate")
      ? []
      : ["no gyro and no estimate: nothing shows the capture's clock against the vehicle's"]),
    ...(statics.length > 0 ? [] : ["no static capture: the noise is then estimated in flight"]),
  ];
}

/** Plain where YAML reads it as the same text, else quoted, what a terminal would act on as \uXXXX. */
export function yamlText(text: string): string {
  return /^[A-Za-z/][A-Za-z0-9/_.-]*$/.test(text) && !/^(true|false|yes|no|on|off|null|y|n)$/i.test(text)
    ? text
    : JSON.stringify(text).replace(
        /[\p{Cc}\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]/gu,
        (sign) => `\\u${sign.codePointAt(0)!.toString(16).padStart(4, "0")}`,
      );
}

/** `{ a: 1, b: 2 }` from texts that are YAML already. */
export function yamlMapping(entries: Readonly<Record<string, string>>): string {
  const parts = Object.entries(entries).map(([key, value]) => `${yamlText(key)}: ${value}`);
  return `{ ${parts.join(", ")} }`;
}

/** Without line breaks and other control characters: fit for a comment. */
export function oneLine(text: string): string {
  return text.replace(/[\p{Cc}\p{Zl}\p{Zp}]/gu, " ");
}
