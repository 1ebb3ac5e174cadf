import type { DraftSummary } from "../contract/inspection.ts";
import { shapeText } from "./draft/manifestDraft.ts";
import type { TextFrame } from "./text/frame.ts";
import { plainText } from "./text/plainText.ts";
import { wrapText } from "./text/wrapText.ts";

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
