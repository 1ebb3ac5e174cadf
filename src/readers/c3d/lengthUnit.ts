import { factorIn } from "../inSI.ts";

/** Metres per unit of a point file's lengths, or what is wrong with the unit. */
export type LengthUnit = { readonly metres: number } | { readonly found: string; readonly hint: string };

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
