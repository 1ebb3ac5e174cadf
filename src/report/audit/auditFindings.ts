import type { AuditFinding } from "../../contract/audit.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { namedConfigurations } from "../runGroups.ts";
import { plainText, type TextFrame, wrapText } from "../text/layout.ts";
import { lengthText } from "../text/numbers.ts";

/**
 * What else than the counterweights could have made the difference, in words: doubts with what to do, then notes.
 *
 * @param options.hints  what to do is reported for notes too
 */
export function auditFindings(
  { audit }: Pick<CampaignEvaluation, "audit">,
  frame: TextFrame,
  options: { hints?: boolean } = {},
): string[] {
  const { findings } = audit;
  const { width, style } = frame;
  const heading = style.heading("What else could have made the difference");
  if (findings.length === 0) {
    const none =
      "No finding on blocks, order, battery, mass, lost runs, valid samples, sham or looks, as far as they are declared.";
    return [heading, ...wrapText(none, width)];
  }
  return [heading, ...findings.flatMap((finding) => findingLines(finding, frame, options.hints ?? false))];
}

function findingLines({ code, severity, message, hint }: AuditFinding, frame: TextFrame, hints: boolean): string[] {
  const { width, style } = frame;
  const said = wrapText(`${severity}: ${code}: ${plainText(message)}`, width, { first: "  ", rest: "    " });
  if (severity === "doubt") said[0] = said[0]!.replace(severity, style.doubt(severity));
  if (hint === "" || (severity === "note" && !hints)) return said;
  return [...said, ...wrapText(`what to do: ${plainText(hint)}`, width, { first: "    ", rest: "      " })];
}

type Fitted = CampaignEvaluation["fitted"][number];

/** Everything fitted or applied to the data in short: what was fitted run by run is reported once, with how far it moved results. */
export function auditFitted(
  { fitted, runs }: Pick<CampaignEvaluation, "fitted"> & { readonly runs: readonly { readonly id: string }[] },
  { width, style }: TextFrame,
): string[] {
  const groups = new Map<string, Fitted[]>();
  const prefixes = new Map(runs.map(({ id }) => [`run ${id}: `, id]));
  for (const entry of fitted) {
    const end = entry.what.indexOf(": ") + 2;
    const ofRun = prefixes.has(entry.what.slice(0, end));
    const key = ofRun ? entry.what.slice(end) : entry.what;
    groups.set(`${ofRun} ${key}`, [...(groups.get(`${ofRun} ${key}`) ?? []), ofRun ? { ...entry, what: key } : entry]);
  }
  const lines = [...groups].flatMap(([key, entries]) => {
    const { what, value, on } = entries[0]!;
    const stated = key.startsWith("true ")
      ? `${what}: in ${entries.length} ${entries.length === 1 ? "run" : "runs"}`
      : `${what}: ${value} (${on})`;
    return wrapText(`${plainText(stated)}${movedText(entries)}`, width, { first: "  ", rest: "    " });
  });
  const none = wrapText("nothing", width, { first: "  " });
  return [style.heading("Fitted or applied to the data"), ...(lines.length === 0 ? none : lines)];
}

function movedText(entries: readonly Fitted[]): string {
  const moved = entries.map((entry) => entry.moved).filter((length) => length !== null);
  if (moved.length === 0) return "";
  const most = Math.max(...moved);
  return most === 0 ? "; moved no result" : `; moved results by ${moved.length > 1 ? "up to " : ""}${lengthText(most)}`;
}

/** A configuration as the audit's tables name it. */
export interface LetteredConfiguration {
  readonly key: string;
  /** "Arm alone", with what the verdicts use it for: "Arm alone, baseline" */
  readonly name: string;
  /** one letter, or as many as it takes to tell it from the others */
  readonly letter: string;
  readonly role: "baseline" | "candidate" | "sham" | null;
}

/** The declared configurations with short names: the first letters of their keys that tell them apart, in capitals. */
export function auditLetters(evaluation: Pick<CampaignEvaluation, "settings">): LetteredConfiguration[] {
  const named = namedConfigurations(evaluation);
  // what could steer a terminal, or be taken for a blank, has no place in a short name
  const keys = named.map(({ key }) => key.toUpperCase().replace(/[^\p{L}\p{N}_-]/gu, ""));
  const short = shortest(keys);
  return named.map(({ key, name, role }, i) => ({
    key,
    name: role === null ? name : `${name}, ${role}`,
    letter: short?.[i] ?? `C${i + 1}`,
    role,
  }));
}

/** Of each key as few letters as tell it from all others; null where four do not. */
function shortest(keys: readonly string[]): string[] | null {
  const cut = keys.map((key) => {
    const letters = [...key];
    for (let length = 1; length <= Math.min(4, letters.length); length++) {
      const start = letters.slice(0, length).join("");
      if (keys.filter((other) => other.startsWith(start)).length === 1) return start;
    }
    return null;
  });
  return cut.some((each) => each === null) ? null : (cut as string[]);
}
