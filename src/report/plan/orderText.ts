import type { FlightDay, TestCard } from "../../contract/plan.ts";
import { padRight, plainText, type TextFrame, textWidth, wrapText } from "../text/layout.ts";
import { shortName } from "../text/nameText.ts";
import { countOf, driftSentence, labelOf, type PlanNames, trajectoryInWords } from "./planWords.ts";

const heads = ["place", "flight", "configuration", "trajectory", "pack", "no.", "refit", "A/A"];

/** The order to fly in, block by block, and how far a steady drift could fake a difference in it. */
export function orderText(day: FlightDay, names: PlanNames, { width, style }: TextFrame): string[] {
  const sentences = (lines: readonly string[]): string[] =>
    lines.flatMap((line) => wrapText(line, width, { first: "", rest: "  " }));
  const flights = day.cards.filter(({ kind }) => kind === "flight");
  const blocks = [...new Set(day.cards.map(({ block }) => block))].map((block) => ({
    block,
    rows: day.cards.filter((card) => card.block === block).map((card) => row(card, day)),
  }));
  const tables = blocks.map(({ rows }) => leftTable(heads, rows, width));
  const fits = tables.every((table) => table !== null);
  const refits = flights.filter(({ refit }) => refit).length;
  return [
    style.heading(`The order: ${countOf(flights.length, "flight")}, seed ${day.seed}`),
    ...blocks.flatMap(({ block, rows }, k) => [
      ...sentences([`Block ${shortName(block)}`]),
      ...(fits ? tables[k]! : sentences(rows.map(rowInWords))),
    ]),
    ...sentences([
      ...day.trajectories.map((name) => `${plainText(trajectoryInWords(name, names))}.`),
      `Refit: take the arm off and mount it again as the configuration has it, with or without counterweights, ${countOf(refits, "time")} in all. A/A: the two baseline flights that show what no difference looks like. No.: which flight on the pack.`,
      driftSentence(day),
      "No. 1 asks for a pack freshly charged; fly each on the pack named, so that every configuration gets packs equally full. Keep to the order. A flight that fails is noted and kept, not quietly flown again. The same seed gives the same order.",
    ]),
  ];
}

function row(card: TestCard, day: FlightDay): string[] {
  const place = String(card.place);
  // a capture's log stands where a flight has its configuration
  if (card.kind === "static capture") return [place, "capture", shortName(card.log), "", "", "", "", ""];
  return [
    place,
    shortName(card.id!),
    shortName(labelOf(card.configuration!, day)),
    shortName(card.trajectory!),
    shortName(card.battery!),
    String(card.flight_on_battery),
    card.refit ? "refit" : "",
    card.pair ? "A/A" : "",
  ];
}

/** For names that no table holds. */
function rowInWords([place, flight, configuration, trajectory, pack, number, refit, pair]: readonly string[]): string {
  const parts = [configuration, trajectory, number === "" ? "" : `${pack} no. ${number}`, refit, pair];
  return `${place}. ${flight}: ${parts.filter((part) => part !== "").join(", ")}`;
}

/**
 * A table of words, every column as wide as its widest entry; columns that are empty throughout are left out.
 *
 * @param heads  one per column
 * @param rows   one entry per head, "" where there is none
 * @returns null where the width does not hold it
 */
function leftTable(heads: readonly string[], rows: readonly (readonly string[])[], width: number): string[] | null {
  const shown = heads.flatMap((_head, k) => (rows.some((row) => row[k] !== "") ? [k] : []));
  const lines = [heads, ...rows].map((row) => shown.map((k) => row[k]!));
  const widths = shown.map((_column, k) => Math.max(...lines.map((line) => textWidth(line[k]!))));
  if (widths.reduce((sum, column) => sum + column + 2, -2) > width) return null;
  return lines.map((line) =>
    line
      .map((entry, k) => padRight(entry, widths[k]!))
      .join("  ")
      .trimEnd(),
  );
}
