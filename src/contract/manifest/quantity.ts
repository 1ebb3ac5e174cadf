import { createUnitClass } from "mathjs";
import { likelyName } from "../../foundation/nearest.ts";
import { Complaint } from "./problems.ts";
import { describeFound } from "./textTree.ts";

declare module "mathjs" {
  /** The factory of the unit class alone; mathjs exports it but its types leave it out. */
  export function createUnitClass(parts: Readonly<Record<string, unknown>>): UnitClass;
  export interface UnitClass {
    parse(text: string): { readonly value: number; readonly dimensions: readonly number[] };
  }
}

/** What one unit is in SI base units. */
interface UnitFactor {
  readonly factor: number;
  /** exponents of mass, length, time, current, temperature, luminous intensity, amount, angle, information */
  readonly dimensions: readonly number[];
}

// names joined by / * or space, each with an optional exponent: nothing mathjs could take for a calculation
const shape = /^[A-Za-z]+(\^-?\d)?(\s*[/*\s]\s*[A-Za-z]+(\^-?\d)?)*$/;
const known = new Map<string, UnitFactor | null>();
let unitClass: ReturnType<typeof createUnitClass> | null = null;

/**
 * Looks a unit up among mathjs' units with their prefixes. Case matters: `mm` is a millimetre, `Mm` a megametre.
 *
 * @param unit  such as "mm", "m/s", "kg m s^-2"; the degree sign and the micro sign are understood
 * @returns null where there is no such unit
 * @example unitFactor("mm") // => { factor: 0.001, dimensions: [0, 1, 0, 0, 0, 0, 0, 0, 0] }
 */
export function unitFactor(unit: string): UnitFactor | null {
  const text = unit.trim().replace("°", "deg").replace(/[µμ]/g, "u");
  if (text.length > 40 || !shape.test(text)) return null;
  let found = known.get(text);
  if (found === undefined) {
    found = lookUp(text);
    if (known.size < 1000) known.set(text, found);
  }
  return found;
}

function lookUp(text: string): UnitFactor | null {
  unitClass ??= createNumberUnits();
  try {
    const { value, dimensions } = unitClass.parse(`1 ${text}`);
    return { factor: value, dimensions };
  } catch {
    return null; // mathjs throws on names it does not know; the caller says which it would
  }
}

/** Units over plain numbers: without mathjs' big numbers, fractions and expressions a sixth of the code is loaded. */
function createNumberUnits(): ReturnType<typeof createUnitClass> {
  return createUnitClass({
    config: { number: "number", predictable: false },
    addScalar: (a: number, b: number) => a + b,
    subtractScalar: (a: number, b: number) => a - b,
    multiplyScalar: (a: number, b: number) => a * b,
    divideScalar: (a: number, b: number) => a / b,
    pow: (a: number, b: number) => a ** b,
    abs: Math.abs,
    fix: Math.trunc,
    round: Math.round,
    equal: (a: number, b: number) => a === b,
    isNumeric: (a: unknown) => typeof a === "number",
    format: String,
    number: Number,
    Complex: class {},
    BigNumber: class {},
    Fraction: class {},
  });
}

interface DimensionFacts {
  readonly si: string;
  readonly phrase: string;
  /** units offered where one is misspelled, likeliest first */
  readonly units: readonly string[];
  /** beyond this magnitude, in SI, the unit is wrong (Mm taken for mm) */
  readonly limit: number;
}

const dimensions = {
  length: {
    si: "m",
    phrase: "a length such as 60 mm",
    units: ["mm", "m", "cm", "um", "km", "inch", "ft", "meter", "millimeter"],
    limit: 1000,
  },
  mass: { si: "kg", phrase: "a mass such as 540 g", units: ["g", "kg", "mg", "lbm", "gram", "kilogram"], limit: 1000 },
  // clocks may lie an epoch apart: 1.8e9 s
  time: {
    si: "s",
    phrase: "a time such as 2 s",
    units: ["s", "ms", "us", "min", "h", "second", "minute"],
    limit: 1e10,
  },
  speed: { si: "m/s", phrase: "a speed such as 0.25 m/s", units: ["m/s", "mm/s", "cm/s", "km/h"], limit: 1000 },
  force: { si: "N", phrase: "a force such as 92 N", units: ["N", "mN", "kN", "lbf", "kgf", "newton"], limit: 1e5 },
  moment: { si: "N m", phrase: "a moment such as 4 N m", units: ["N m", "N mm", "lbf inch", "kN m"], limit: 1e5 },
  rate: { si: "Hz", phrase: "a rate such as 0.5 Hz", units: ["Hz", "mHz", "kHz"], limit: 1e6 },
  voltage: { si: "V", phrase: "a voltage such as 3.5 V", units: ["V", "mV", "volt"], limit: 1000 },
  energy: { si: "J", phrase: "an energy such as 99 Wh", units: ["Wh", "kWh", "J", "kJ"], limit: 1e9 },
  inertia: {
    si: "kg m^2",
    phrase: "a moment of inertia such as 0.09 kg m^2",
    units: ["kg m^2", "g m^2", "kg mm^2", "g mm^2"],
    limit: 1e4,
  },
  area: { si: "m^2", phrase: "an area such as 2.5 mm^2", units: ["mm^2", "cm^2", "m^2"], limit: 100 },
  pressure: { si: "Pa", phrase: "a pressure such as 1013 hPa", units: ["hPa", "kPa", "Pa", "bar"], limit: 1e6 },
  density: { si: "kg/m^3", phrase: "a density such as 1.2 kg/m^3", units: ["kg/m^3", "g/m^3"], limit: 1e5 },
  "angular acceleration": {
    si: "rad/s^2",
    phrase: "an angular acceleration such as 30 rad/s^2",
    units: ["rad/s^2", "deg/s^2"],
    limit: 1e5,
  },
  angle: { si: "rad", phrase: "an angle such as 90 deg", units: ["deg", "rad", "mrad", "degree"], limit: 100 },
} as const satisfies Record<string, DimensionFacts>;

/** A period or duration beyond a day is a megasecond taken for a millisecond; differences of clocks may be longer. */
const longestDuration = 86_400;

export type Dimension = keyof typeof dimensions;

/** "a length such as 60 mm" */
export function phraseOf(dimension: Dimension): string {
  return dimensions[dimension].phrase;
}

/** A number with a unit, for JSON Schema, which knows no units. */
export const quantityPattern = "^\\s*[+\\u2212-]?(\\d+\\.?\\d*|\\.\\d+)([eE][+-]?\\d+)?\\s*[A-Za-z\\u00b5\\u03bc].*$";
const quantityShape = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$/s;

/**
 * A number with its unit, in SI. Decimal prefixes are exact: "60 mm" is the double nearest to 0.06.
 *
 * @param found      as written, such as "60 mm", "0.25 m/s", "-137 ms"; a space before the unit is optional
 * @param dimension  what kind of quantity the place needs
 * @param options.sign  `any` (default), `positive`, or `not-negative`
 * @returns metres, kilograms, seconds, metres per second, newtons, volts or radians
 * @throws Complaint  nothing; no text; no number in front; a bare number; an unknown unit; a unit of another
 *   dimension; a value that is not finite or beyond any flight arena; a sign that makes no sense
 */
export function parseQuantity(
  found: unknown,
  dimension: Dimension,
  options: { sign?: "any" | "positive" | "not-negative" } = {},
): number {
  const { si, phrase, units } = dimensions[dimension];
  const positive = options.sign === "positive";
  const limit = dimension === "time" && positive ? longestDuration : dimensions[dimension].limit;
  const expected = `found ${describeFound(found)}, expected ${phrase}`;
  if (found === undefined || found === null) throw new Complaint(expected, { missing: true });
  if (typeof found !== "string") throw new Complaint(expected, { hint: "write one number with its unit" });
  const text = found.trim().replace(/^\u2212/, "-");
  const match = quantityShape.exec(text);
  if (match === null) throw new Complaint(expected, { hint: "write a number, then its unit" });
  const unit = match[2]!.trim();
  if (unit === "") {
    const hint = `write the unit: ${match[1]} ${units[0]} or ${match[1]} ${units[1]}, whichever is meant`;
    throw new Complaint(`found the bare number ${match[1]}, expected ${phrase}`, { hint });
  }
  if (/^,\d/.test(unit)) throw new Complaint(expected, { hint: "write the decimal point as a point, as in 1.5 mm" });
  const known = unitFactor(unit);
  if (known === null) {
    const near = likelyName(unit, units);
    const hint = near === null ? `units that fit: ${units.slice(0, 4).join(", ")}` : `did you mean ${near}?`;
    throw new Complaint(
      `found the unknown unit ${describeFound(unit)} in ${describeFound(found)}, expected ${phrase}`,
      { hint },
    );
  }
  if (!sameDimensions(known.dimensions, unitFactor(si)!.dimensions)) {
    const hint = `units that fit: ${units.slice(0, 4).join(", ")}`;
    throw new Complaint(
      `found ${describeFound(found)}, which is ${dimensionName(known.dimensions)}, expected ${phrase}`,
      { hint },
    );
  }
  const value = scale(match[1]!, known.factor);
  if (!(Math.abs(value) <= limit)) {
    const hint = `upper and lower case differ in units: ${units.slice(0, 3).join(", ")}`;
    throw new Complaint(`found ${describeFound(found)}, which is ${value} ${si}, expected at most ${limit} ${si}`, {
      hint,
    });
  }
  if (positive && value <= 0) {
    throw new Complaint(`found ${describeFound(found)}, expected ${phrase}, more than zero`, {
      hint: value < 0 ? "give its size without a sign" : null,
    });
  }
  if (options.sign === "not-negative" && value < 0) {
    throw new Complaint(`found ${describeFound(found)}, expected ${phrase}, not negative`, {
      hint: value < 0 ? "give its size without a sign" : null,
    });
  }
  return value === 0 ? 0 : value;
}

/** Whether there is such a unit, and if a reference unit is given, whether it measures the same. */
export function isUnit(unit: string, reference: string | null = null): boolean {
  const known = unitFactor(unit);
  if (known === null) return false;
  return reference === null || sameDimensions(known.dimensions, unitFactor(reference)!.dimensions);
}

/** Moves the decimal point in the text where the factor is a power of ten: multiplying by 0.001 would round twice. */
function scale(digits: string, factor: number): number {
  const power = Math.round(Math.log10(factor));
  if (Math.abs(10 ** power / factor - 1) > 1e-12) return Number(digits) * factor;
  const [mantissa, exponent = "0"] = digits.toLowerCase().split("e");
  return Number(`${mantissa}e${Number(exponent) + power}`);
}

function sameDimensions(a: readonly number[], b: readonly number[]): boolean {
  return a.every((exponent, index) => exponent === b[index]);
}

function dimensionName(found: readonly number[]): string {
  for (const { si, phrase } of Object.values(dimensions)) {
    if (sameDimensions(found, unitFactor(si)!.dimensions)) return phrase.replace(/ such as .*/, "");
  }
  return "another kind of quantity";
}
