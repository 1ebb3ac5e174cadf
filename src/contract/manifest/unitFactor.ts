import { createUnitClass } from "mathjs";

declare module "mathjs" {
  /** The factory of the unit class alone; mathjs exports it but its types leave it out. */
  export function createUnitClass(parts: Readonly<Record<string, unknown>>): UnitClass;
  export interface UnitClass {
    parse(text: string): { readonly value: number; readonly dimensions: readonly number[] };
  }
}

/** What one unit is in SI base units. */
export interface UnitFactor {
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
