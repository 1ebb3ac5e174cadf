import type { AuditFinding } from "../../contract/audit.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { TextFrame } from "../text/frame.ts";
import { plainText } from "../text/plainText.ts";
import { wrapText } from "../text/wrapText.ts";

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
