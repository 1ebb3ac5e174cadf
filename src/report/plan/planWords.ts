import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { FlightDay } from "../../contract/plan.ts";
import { joinWords } from "../../words/amounts.ts";
import type { JudgedTrajectories } from "../../words/places.ts";
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
}

/** The names of an evaluated campaign. */
export function planNames({ title, settings }: Pick<CampaignEvaluation, "title" | "settings">): PlanNames {
  const { sham, configurations, trajectories, judged_in: judged } = settings;
  return { title, trajectories, sham: sham === null ? null : (configurations[sham]?.label ?? sham), judged };
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
