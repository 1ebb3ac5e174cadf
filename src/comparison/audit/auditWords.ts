import type { MeasureUnit } from "../../catalogue/measures.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import type { Subject } from "../../foundation/signals.ts";
import { inShown, unitName } from "../../words/amounts.ts";
import { joinWords } from "../../words/lists.ts";
import { placeWords } from "../../words/places.ts";
import { probabilityNumber } from "../../words/probability.ts";

/** A configuration's label; its key where it has none. */
export function labelOf({ configurations }: Pick<Campaign, "configurations">, key: string): string {
  return configurations[key]?.label || key;
}

/** A share for a reader: "2.0 %", "0.3 %", "33 %". */
export function percentText(share: number): string {
  const percent = Math.abs(share * 100);
  return `${percent.toFixed(percent >= 10 ? 0 : 1)} %`;
}

/** Kilograms as grams: "540 g". */
export function gramsText(kilograms: number): string {
  return `${Math.round(kilograms * 1000)} g`;
}

/** A number of a measure in the unit read, two figures or so: "0.42 mm", "12 mm". */
export function amountText(value: number, unit: MeasureUnit): string {
  const shown = inShown(value, unit);
  const size = Math.abs(shown);
  return `${shown.toFixed(size >= 10 ? 0 : size >= 1 ? 1 : size >= 0.1 ? 2 : 3)} ${unitName(unit)}`;
}

/** The places of a trajectory in a sentence: "the vehicle along x and z, the effector along y". */
export function placesText(
  places: readonly (Pick<Cell, "axis" | "judged_in"> & { readonly subject: Subject })[],
): string {
  const subjects = [...new Set(places.map(({ subject }) => subject))];
  return joinWords(
    subjects.map((subject) => {
      const own = places.filter((place) => place.subject === subject);
      const along = own.map(({ axis }) => axis);
      return `the ${placeWords(subject, along, own[0]!.judged_in)}`;
    }),
  );
}

/** A p in a sentence; "below 0.001" under that. */
export function probabilityText(p: number): string {
  return p < 0.001 ? "below 0.001" : probabilityNumber(p);
}
