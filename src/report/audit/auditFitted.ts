import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { TextFrame } from "../text/frame.ts";
import { plainText } from "../text/plainText.ts";
import { lengthText } from "../text/sizeText.ts";
import { wrapText } from "../text/wrapText.ts";

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
