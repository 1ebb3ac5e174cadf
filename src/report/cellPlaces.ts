import { type CellAxis, cellAxes, judgedAxes } from "../catalogue/measures.ts";
import type { Cell } from "../contract/cell.ts";
import { type Subject, subjects } from "../foundation/tracks.ts";
import { joinWords } from "../words/amounts.ts";
import { alongText, axisNamesOf } from "../words/places.ts";
import { wordOrQuoted } from "./text/nameText.ts";

/** Cells that are reported in one breath: the same axes and trajectories, of one subject or of several alike. */
export interface CellPlace {
  readonly subjects: readonly Subject[];
  /** "along x and z in reach and along y in orbit" */
  readonly where: string;
  readonly cells: readonly Cell[];
}

/** with more trajectories than this they are counted, not named */
const mostNames = 2;

/**
 * Where some cells of the family lie, in as few words as can be: subjects that agree are reported together, axes with the same
 * trajectories too, and many trajectories are counted. At most three parts per subject, however many trajectories there are.
 *
 * @param cells   the cells to be stated
 * @param family  all cells of the family: "both" and "all" mean all of these
 */
export function cellPlaces(cells: readonly Cell[], family: readonly Cell[]): CellPlace[] {
  const all = trajectoriesOf(family);
  const places: CellPlace[] = [];
  for (const subject of subjects) {
    const own = cells.filter((cell) => cell.subject === subject);
    if (own.length === 0) continue;
    const where = whereText(own, all);
    const alike = places.findIndex((place) => place.where === where);
    if (alike < 0) places.push({ subjects: [subject], where, cells: own });
    else {
      const place = places[alike]!;
      places[alike] = { subjects: [...place.subjects, subject], where, cells: [...place.cells, ...own] };
    }
  }
  return places;
}

/** "the vehicle along y in orbit; the effector along x in both trajectories" */
export function placesText(cells: readonly Cell[], family: readonly Cell[]): string {
  return cellPlaces(cells, family)
    .map((place) => `${subjectsText(place.subjects)} ${place.where}`)
    .join("; ");
}

/** "the vehicle and the effector" */
export function subjectsText(names: readonly Subject[]): string {
  return joinWords(names.map((name) => `the ${name}`));
}

/** "in orbit", "in both trajectories", "in 3 of 10 trajectories" */
export function trajectoriesText(names: readonly string[], all: readonly string[]): string {
  if (names.length === all.length && all.length > 1)
    return all.length === 2 ? "in both trajectories" : `in all ${all.length} trajectories`;
  if (names.length > mostNames) return `in ${names.length} of ${all.length} trajectories`;
  return `in ${joinWords(names.map(wordOrQuoted))}`;
}

/** The trajectories of some cells, in their order. */
export function trajectoriesOf(cells: readonly Cell[]): string[] {
  return [...new Set(cells.map(({ trajectory }) => trajectory))];
}

function whereText(cells: readonly Cell[], all: readonly string[]): string {
  const parts = judgedAxes.flatMap((judgedIn): string[] => {
    const own = cells.filter((cell) => cell.judged_in === judgedIn);
    const together = new Map<string, CellAxis[]>();
    for (const axis of cellAxes) {
      const flown = trajectoriesOf(own.filter((cell) => cell.axis === axis));
      if (flown.length === 0) continue;
      // the names decide which axes go together, not the words: "in 3 of 10" may be another three
      const key = JSON.stringify(flown);
      together.set(key, [...(together.get(key) ?? []), axis]);
    }
    return [...together].map(([key, along]) =>
      `${alongText(along, judgedIn, axisNamesOf(own))} ${trajectoriesText(JSON.parse(key) as string[], all)}`.trimStart(),
    );
  });
  return joinWords(parts);
}
