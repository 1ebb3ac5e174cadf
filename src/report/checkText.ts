import type { CampaignCheck } from "../contract/look.ts";
import { auditFindings, auditFitted, auditLetters } from "./audit/auditFindings.ts";
import { blockRows, configurationRows } from "./audit/auditTables.ts";
import { checkSentences } from "./doubtSentences.ts";
import { findingsText } from "./findingsText.ts";
import { clocksText } from "./logsText.ts";
import { caution } from "./noAnswer.ts";
import { titleText } from "./summaryText.ts";
import { plainText, type TextFrame, textFrame, textTable, wrapText } from "./text/layout.ts";
import { fixed, noValue } from "./text/numbers.ts";

/**
 * A check for a person who sets a campaign up: whether it can be evaluated, which runs are at fault and what to do, what of the
 * design a reviewer will ask about, then windows and clocks run by run, and what was applied to the data. No figure of an
 * error, and no configuration beside a run.
 *
 * @param options.width   columns; default 80, at least 60
 * @param options.notes   list the notes instead of counting them
 * @returns lines that end in a line break
 */
export function checkText(
  check: CampaignCheck,
  options: { width?: number; colour: boolean; notes?: boolean; manifest?: string },
): string {
  const frame = textFrame(options);
  const { width, style } = frame;
  const letters = auditLetters(check).map((own) => ({ ...own, name: own.key }));
  const heads = letters.map(({ letter }) => letter);
  const used = check.runs.filter((run) => run.used);
  const sections = [
    titleText(check, frame),
    checkSentences(check).flatMap((sentence) => wrapText(sentence, width)),
    findingsText(check, frame, { notes: options.notes ?? false }),
    auditFindings(check, frame, { hints: true }),
    [style.heading("Used runs per block, of those filed"), ...textTable(heads, blockRows(check, letters), width)],
    [
      style.heading("Runs, packs, masses and valid samples"),
      ...textTable(heads, configurationRows(check, letters), width),
      ...wrapText("Masses are shown because they are checked here; they can give a configuration away.", width).map(
        style.faint,
      ),
    ],
    windowsTable(check, frame),
    [...truthLines(check, width), ...(used.length === 0 ? [] : clocksText(check, width))],
    auditFitted(check, frame),
    wrapText(nextStep(check, options.manifest ?? "campaign.yaml"), width),
    wrapText(caution, width).map(style.faint),
  ].filter((lines) => lines.length > 0);
  return `${sections.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}

/** What will be scored of each run, and how much of it has valid samples. */
function windowsTable({ runs }: CampaignCheck, { width, style }: TextFrame): string[] {
  if (runs.length === 0) return [];
  const rows = runs.map(({ id, used, windows: { hold, cycles }, valid_fraction: valid, clocks }) => {
    const share = (subject: "vehicle" | "effector"): string =>
      valid[subject] === undefined ? noValue : fixed(valid[subject] * 100, 1);
    const offsets = Object.values(clocks).map(({ offset }) =>
      Math.abs(offset) < 10 ? fixed(offset * 1000, 1) : "epoch",
    );
    return {
      label: `${used ? " " : "x"} ${plainText(id)}`,
      cells: [
        cycles.length === 0 ? noValue : String(cycles.length),
        hold === null ? noValue : fixed(hold[1] - hold[0], 1),
        share("vehicle"),
        share("effector"),
        offsets.length === 0 ? noValue : offsets.join(" "),
      ],
    };
  });
  const foot =
    "x: not used. Valid: share of the scored window with samples, %. Clock: offset against the reference, ms.";
  return [
    style.heading("Windows and clocks"),
    ...textTable(["cycles", "hold, s", "vehicle, %", "effector, %", "clock, ms"], rows, width),
    ...wrapText(foot, width).map(style.faint),
  ];
}

function truthLines({ settings: { truth }, noise }: CampaignCheck, width: number): string[] {
  const effector = truth.effector === null ? "" : `, effector ${plainText(truth.effector)}`;
  const lines = wrapText(`Source of truth: motion capture, vehicle ${plainText(truth.vehicle)}${effector}.`, width);
  if (noise === null) return [...lines, ...wrapText("Measurement noise: not known.", width)];
  const bodies = (["vehicle", "effector"] as const).flatMap((body) => {
    const sd = noise[body];
    return sd === null
      ? []
      : [`${body} ${(["x", "y", "z"] as const).map((axis) => fixed(sd[axis] * 1000, 2)).join(", ")} mm`];
  });
  const source = noise.source === "static" ? "static captures" : "estimated in flight";
  return [...lines, ...wrapText(`Measurement noise (sd along x, y, z; ${source}): ${bodies.join("; ")}.`, width)];
}

function nextStep({ runs, opened }: CampaignCheck, manifest: string): string {
  if (!runs.some(({ used }) => used)) return "Next: mend what is said of the runs above, and check again.";
  const what =
    opened === null ? "opens the campaign: it shows the answer, and records how things stood" : "shows the answer";
  return `Next: mend what is said above and check again; once it is right, counterpoise evaluate ${plainText(manifest)} ${what}.`;
}
