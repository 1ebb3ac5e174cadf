import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { FlightDay, TestCard } from "../../contract/plan.ts";
import { joinWords } from "../../words/amounts.ts";
import type { JudgedTrajectories } from "../../words/places.ts";
import { padRight, plainText, type TextFrame, textWidth, wrapText } from "../text/layout.ts";
import { shortName } from "../text/nameText.ts";

/** @example countOf(2, "block") // => "2 blocks" */
export function countOf(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? "" : "s"}`;
}

/** of the value, from one flight to the next */
const drift = 0.02;

/**
 * How large a difference a steady drift of 2 % a flight would fake in this order: the drift times the places by which the
 * candidate is flown later than the baseline on average within blocks.
 *
 * @example with `later: { orbit: 1, reach: 0 }` "... would fake 2 % in orbit and nothing in reach ..."
 */
export function driftSentence({ later }: Pick<FlightDay, "later">): string {
  const entries = Object.entries(later);
  const start = `A steady drift of ${100 * drift} % from one flight to the next`;
  if (entries.every(([, places]) => share(places) === 0))
    return `${start} would fake no difference: baseline and candidate come equally late on average in each block.`;
  const stated = entries.map(([name, places]) => `${fakeText(places)} in ${shortName(name)}`);
  return `${start} would fake ${joinWords(stated)} (candidate against baseline): the order is not quite even.`;
}

function share(places: number): number {
  return Number((100 * drift * places).toFixed(1));
}

function fakeText(places: number): string {
  const percent = share(places);
  return percent === 0 ? "nothing" : `${percent > 0 ? "+" : ""}${percent} %`;
}

/** Shown with every plan (design, section 9). The last one always stays the last word. */
export const flightCautions: readonly string[] = [
  "Fly in a netted arena, or tethered, with an exclusion zone and nobody inside it; never mix tethered and untethered flights in one comparison.",
  "Test kill switch and fail-safe before the first flight of each block.",
  "Props off for bench work, static captures and checks of axes; throw a cracked prop away.",
  "Batteries: charge them attended and in a fire-safe place, retire swollen packs, give each the same rest, land at the voltage limit under load.",
  "Counterweights mechanically retained (fastened twice), clear of the props over the arm's whole swing; weigh the vehicle and find its centre of mass again after each change.",
  "After each change first hover low with the arm parked, then raise the arm's speed in steps.",
  "Write down the abort limits before take-off: fence, tilt, voltage per cell, time without tracking.",
  "Counterpoise never says that a vehicle is safe to fly: local aviation rules, site procedures and licensed practice prevail.",
];

/** What a reader of a plan is told beside its figures. */
export interface PlanNames {
  readonly title: string;
  /** trajectories in words, by name */
  readonly trajectories: Readonly<Record<string, string>>;
  /** label of the sham that the campaign declares; null where it declares none */
  readonly sham: string | null;
  /** axes in which the errors are judged, by trajectory */
  readonly judged: JudgedTrajectories;
  /** runs of either configuration on each trajectory up to which looks are paid for; absent where they are not */
  readonly paidUpTo?: number;
}

/** The names of an evaluated campaign. */
export function planNames({
  title,
  settings,
  looks,
}: Pick<CampaignEvaluation, "title" | "settings" | "looks">): PlanNames {
  const { sham, configurations, trajectories, judged_in: judged } = settings;
  const paidUpTo = looks.paid === undefined ? {} : { paidUpTo: looks.paid.runs_at_most };
  return {
    title,
    trajectories,
    sham: sham === null ? null : (configurations[sham]?.label ?? sham),
    judged,
    ...paidUpTo,
  };
}

/** A trajectory's name, with its description where there is one. */
export function trajectoryInWords(name: string, { trajectories }: Pick<PlanNames, "trajectories">): string {
  const words = Object.hasOwn(trajectories, name) ? trajectories[name]! : "";
  return words === "" ? name : `${name}: ${words}`;
}

/** The label of a configuration of the day. */
export function labelOf(name: string, { configurations }: Pick<FlightDay, "configurations">): string {
  return configurations.find((one) => one.name === name)?.label ?? name;
}

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
