import type { Check } from "../../foundation/checks.ts";

/** What a file says in its parameters and once more in its header. */
export interface Copied {
  readonly name: "POINT:RATE" | "POINT:SCALE";
  readonly parameter: number | null;
  readonly header: number;
  /** what rests on it */
  readonly carries: string;
}

/**
 * Values that have to be the same in the parameters and in the header, and are not: the parameter is believed. A header
 * without a sensible number copies nothing.
 *
 * @source c3d.org, POINT:RATE and POINT:SCALE: the header holds an identical copy
 */
export function headerCopies(copies: readonly Copied[]): Check[] {
  return copies.flatMap(({ name, parameter, header, carries }): Check[] => {
    if (parameter === null || !Number.isFinite(header) || header === 0) return [];
    // single precision, whatever it was computed from
    if (Math.abs(header - parameter) <= 1e-6 * Math.abs(parameter)) return [];
    const [inParameter, inHeader] = [parameter, header].map((value) => Number(value.toPrecision(7)));
    return [
      {
        code: "recovered",
        severity: "doubt",
        message: `${name} is ${inParameter}, its copy in the header ${inHeader}: the first is believed, and ${carries} with it`,
        evidence: { parameter: inParameter!, header: inHeader! },
        hint: "export the capture again with software that writes both alike, or verify the value in the capture's settings",
      },
    ];
  });
}
