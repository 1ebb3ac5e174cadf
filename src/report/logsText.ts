import type { RunEvaluation } from "../contract/evaluation.ts";
import type { DraftSummary } from "../contract/inspection.ts";
import { shapeText } from "./draft/manifestDraft.ts";
import { plainText, type TextFrame, textStyle, textTable, wrapText } from "./text/layout.ts";
import { fixed } from "./text/numbers.ts";

/** More lines of one kind than these are counted, not shown: a folder of twenty fits a screen. */
const mostLines = 6;

/** What logs are, what could be judged by them and what is missing for it: what a person wants to know first. */
export function logsText(summary: DraftSummary, { width, style }: TextFrame): string[] {
  const { runs, statics, days, trajectories, configurations, signals, subjects, lacking, asks, remarks, left } =
    summary;
  const entry = (text: string): string[] => wrapText(text, width, { first: "  ", rest: "    " });
  const few = (lines: readonly string[][]): string[] => [
    ...lines.slice(0, mostLines).flat(),
    ...(lines.length > mostLines ? entry(`and ${lines.length - mostLines} more (--json has all)`) : []),
  ];
  const counts = [
    counted(runs, "run"),
    ...(statics > 0 ? [counted(statics, "static capture")] : []),
    ...(days === null ? [] : [`flown on ${counted(days, "day")}`]),
  ];
  const judged =
    subjects.length === 0
      ? wrapText("Nothing can be judged by these logs:", width).map(style.doubt)
      : wrapText(`Could be judged: ${subjects.join(", ")}.`, width);
  return [
    ...wrapText(`${counts.join(", ")}.`, width),
    ...judged,
    ...lacking.flatMap((words) => entry(`missing: ${words}`)),
    ...(trajectories.length === 0 || runs === 0 ? [] : [style.heading("What was commanded")]),
    ...few(
      trajectories.map(({ name, shape, runs: count }) =>
        entry(
          `${plainText(name)}, ${counted(count, "run")}: ${shape === null ? "no command tells" : shapeText(shape).replace(/[{}]/g, "").trim()}`,
        ),
      ),
    ),
    ...(configurations === null
      ? []
      : wrapText(`Configurations by the names: ${configurations.map(plainText).join(", ")}.`, width)),
    ...(signals.length === 0 ? [] : [style.heading("Signals")]),
    ...signals.flatMap(({ signal, origin, rate }) =>
      entry(
        `${signal}: ${origin === null ? "to be asked for" : plainText(origin)}${rate === null ? "" : `, ${Number(rate.toPrecision(3))} a second`}`,
      ),
    ),
    ...(remarks.length === 0 ? [] : [style.heading("Runs with something of their own")]),
    ...few(remarks.map(({ path, words }) => entry(`${plainText(path)}: ${plainText(words)}`))),
    ...(left.length === 0 ? [] : [style.heading("Left out")]),
    ...few(left.map(({ path, why }) => entry(`${plainText(path)}: ${plainText(why)}`).map(style.doubt))),
    ...wrapText(
      asks.length === 0
        ? "The manifest asks nothing."
        : `The manifest asks for ${counted(asks.length, "thing")}: ${asks.map((place) => place.slice(1, -1).toLowerCase().replaceAll("_", " ")).join(", ")}.`,
      width,
    ),
  ];
}

function counted(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? "" : "s"}`;
}

/** By how much each clock was found off the reference clock over the used runs, from what, and how surely. */
export function clocksText(
  { runs }: { readonly runs: readonly Pick<RunEvaluation, "used" | "clocks">[] },
  width: number,
): string[] {
  const used = runs.filter((run) => run.used);
  const names = [...new Set(used.flatMap((run) => Object.keys(run.clocks)))];
  return names.flatMap((name) => {
    const found = used.map((run) => run.clocks[name]).filter((clock) => clock !== undefined);
    return wrapText(clockSentence(name, found), width, { first: "", rest: "  " });
  });
}

function clockSentence(name: string, found: readonly RunEvaluation["clocks"][string][]): string {
  const offsets = found.map(({ offset }) => offset);
  const least = offsetText(Math.min(...offsets));
  const most = offsetText(Math.max(...offsets));
  const errors = found.map(({ offset_se: error }) => error).filter((error) => error !== null);
  const surely = errors.length === 0 ? "" : `, standard error up to ${fixed(Math.max(...errors) * 1000, 2)} ms`;
  const sources = [...new Set(found.map(({ source }) => plainText(source)))].join("; ");
  return `Clock ${plainText(name)}: ${least === most ? least : `${least} to ${most}`} against the reference clock${surely} (${sources}).`;
}

/** Milliseconds up to ten seconds; clocks of other epochs in seconds. */
function offsetText(seconds: number): string {
  return Math.abs(seconds) < 10 ? `${fixed(seconds * 1000, 1)} ms` : `${seconds.toFixed(4)} s`;
}

/** The numbers of a topic's first messages, as `fields` of a manifest names them. */
export function leavesText(
  found: {
    readonly topic: string;
    readonly type: string;
    readonly leaves: readonly { readonly path: string; readonly values: readonly number[] }[];
  },
  options: { width?: number; colour: boolean },
): string {
  const style = textStyle(options.colour);
  const { topic, type, leaves } = found;
  const count = Math.max(0, ...leaves.map(({ values }) => values.length));
  const lines = [
    style.heading(`${plainText(topic)} (${plainText(type)})`),
    ...(leaves.length === 0
      ? ["No message with a number in it."]
      : textTable(
          ["first", "second", "third"].slice(0, count),
          leaves.map(({ path, values }) => ({ label: `  ${plainText(path)}`, cells: values.map(numberText) })),
          Math.max(60, options.width ?? 80),
        )),
    ...(leaves.length === 0
      ? []
      : [`A signal names them by fields, such as fields: { x: ${plainText(leaves[0]!.path)} }.`]),
  ];
  return `${lines.join("\n")}\n`;
}

/** Seven digits show a place to the micrometre; a date keeps its seconds. */
function numberText(value: number): string {
  if (Number.isNaN(value)) return "none";
  return String(Number(value.toPrecision(Math.abs(value) > 1e8 ? 13 : 7)));
}
