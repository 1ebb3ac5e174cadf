import { factorIn } from "../inSI.ts";

/** What a point of a frame is. */
export const state = { missing: 0, measured: 1, modelled: 2 } as const;

/**
 * What the fourth word of a point says of it. In both forms it is a signed 16-bit integer, cameras in the high byte and the
 * residual in the low one: negative where the point is missing, 0 as a whole where it was modelled (filled in, filtered).
 *
 * A residual of 0 beside cameras is a measurement whose residual is less than half of POINT:SCALE: a modelled point has no
 * cameras. Floating point files may hold the integer without its sign (65535 for -1, with 0 for the place), which is the
 * same word. A fraction is no such word, but was written by what knows a residual: measured. Writers without residuals
 * leave a point that was not seen at 0 0 0 with the word 0, where no marker can be to the last bit.
 *
 * @param word  as it stands, with or without its sign; NaN is missing
 * @source c3d.org, notes for programmers on integer and on floating point 3D data, and camera contribution mask
 */
export function pointState(word: number, x: number, y: number, z: number): 0 | 1 | 2 {
  if (!(word >= 0 && word < 0x8000 && Number.isFinite(x + y + z))) return state.missing;
  if (word > 0) return state.measured;
  return x === 0 && y === 0 && z === 0 ? state.missing : state.modelled;
}

/**
 * Labels that several points of a file bear, with the numbers of these points, counted from 1 as the format counts them.
 *
 * The format does not forbid it, and writers that cut labels short do it: such a label says nothing about which point is
 * meant.
 */
export function repeatedLabels(labels: readonly string[]): ReadonlyMap<string, readonly number[]> {
  const places = new Map<string, number[]>();
  labels.forEach((label, k) => {
    const known = places.get(label);
    if (known === undefined) places.set(label, [k + 1]);
    else known.push(k + 1);
  });
  return new Map([...places].filter(([, numbers]) => numbers.length > 1));
}

/** Metres per unit of a point file's lengths, or what is wrong with the unit. */
type LengthUnit = { readonly metres: number } | { readonly found: string; readonly hint: string };

/**
 * What POINT:UNITS stands for. Refused: no unit, what is no length, and a length beyond a metre, in which no capture of a
 * flight is written.
 *
 * @param unit  as the file writes it
 * @source c3d.org, POINT:UNITS: four characters, millimetres by default; SI brochure (BIPM), 9th edition, table 7: the
 *   prefix M is mega, and case matters
 */
export function lengthUnit(unit: string): LengthUnit {
  const hint = "export the capture again in millimetres, and with its unit";
  if (unit === "") return { found: "no unit of lengths in the file", hint };
  const metres = factorIn(unit, "m");
  if (metres === null) return { found: `the unit "${unit}" in POINT:UNITS, which is no length`, hint };
  if (metres <= 1) return { metres };
  const lower = factorIn(unit.toLowerCase(), "m");
  return {
    found: `the unit "${unit}" in POINT:UNITS, which is ${Number(metres.toPrecision(7))} m`,
    hint:
      lower !== null && lower <= 1
        ? `did the writer mean ${unit.toLowerCase()}? ${hint}`
        : `nothing that is captured is as large: ${hint}`,
  };
}
