import type { BenchCell, BenchEvaluation } from "../contract/benchEvaluation.ts";
import { benchSentence } from "../words/benchWords.ts";
import { padRight, plainText, type TextFrame, wrapText } from "./text/layout.ts";

const percent = (share: number): string => `${Math.round(100 * share)} %`;

/** A bench on one screen: the answer, a line per cell of the family, what moves, what is wrong, what was not checked. */
export function benchText(
  bench: BenchEvaluation,
  labels: { readonly title: string; readonly baseline: string; readonly candidate: string },
  frame: TextFrame,
): string {
  const sections = [
    wrapText(`${labels.title}: on the bench`, frame.width),
    wrapText(benchSentence(bench, labels), frame.width),
    cellLines(bench.cells),
    movingLines(bench),
    faultLines(bench, frame),
    bench.unchecked.length === 0 ? [] : wrapText(`Held against nothing: ${bench.unchecked.join("; ")}.`, frame.width),
    wrapText(
      "Props off, arm clamped and guarded, no hands in the sweep. A bench shows what the arm exerts, not what the vehicle does.",
      frame.width,
    ).map(frame.style.faint),
  ].filter((lines) => lines.length > 0);
  return `${sections.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}

function cellLines(cells: readonly BenchCell[]): string[] {
  return cells
    .filter(({ verdict }) => verdict !== null)
    .map(({ trajectory, speed_label, channel, reduction, ci95, refits, verdict, doubts }) => {
      const head = padRight(plainText(`${trajectory} ${speed_label ?? ""}`), 22);
      const share = reduction === null ? "-" : percent(reduction);
      const range = ci95 === null ? "" : ` (${percent(ci95[0])} to ${percent(ci95[1])})`;
      const why = doubts.length === 0 ? "" : `: ${doubts.join(", ")}`;
      return `${head} ${padRight(channel, 3)} ${padRight(`${share}${range}`, 26)} ${refits} refits  ${verdict}${why}`;
    });
}

function movingLines({ moving }: BenchEvaluation): string[] {
  return moving.map(({ trajectory, axis, configuration, from, value, ci95, expected }) => {
    const grams = (kg: number): string => `${Math.round(1000 * kg)}`;
    const range = ci95 === null ? "" : ` (${grams(ci95[0])} to ${grams(ci95[1])})`;
    const ledger = expected === null ? "" : `, by the ledger ${grams(expected)} g`;
    return plainText(
      `Moves along ${axis}, ${trajectory}, ${configuration}: ${grams(value)} g${range} from ${from}${ledger}`,
    );
  });
}

function faultLines({ checks, runs }: BenchEvaluation, frame: TextFrame): string[] {
  const all = [
    ...checks.filter(({ severity }) => severity !== "note").map(({ severity, message }) => `${severity}: ${message}`),
    ...runs.flatMap(({ id, checks: own }) =>
      own
        .filter(({ severity }) => severity !== "note")
        .map(({ severity, message }) => `${severity}, ${id}: ${message}`),
    ),
  ];
  const most = 12;
  return [
    ...all.slice(0, most).flatMap((line) => wrapText(plainText(line), frame.width)),
    ...(all.length > most ? [`and ${all.length - most} more, in evaluation.json`] : []),
  ];
}
