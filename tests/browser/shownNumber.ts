/** A number as it stands in a text: its value and its decimals. */
export interface ShownNumber {
  readonly value: number;
  readonly decimals: number;
}

/** All numbers of a text, in order; the page writes a true minus sign, and + before what is above 0. */
export function numbersIn(text: string): ShownNumber[] {
  return [...text.matchAll(/[−+-]?\d+(?:\.\d+)?/g)].map(([found]) => ({
    value: Number(found.replace("−", "-")),
    decimals: found.split(".")[1]?.length ?? 0,
  }));
}

/** Whether a shown number is `value` rounded to its decimals: off by half a unit of its last place at most. */
export function isRounded({ value: shown, decimals }: ShownNumber, value: number): boolean {
  // a hair more: a value half way between may be written either way
  return Math.abs(shown - value) <= 0.5 * 10 ** -decimals * (1 + 1e-9);
}
