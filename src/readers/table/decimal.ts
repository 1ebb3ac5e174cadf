const zero = 48;
/** powers of ten that are doubles exactly */
export const exactPowers = Float64Array.from({ length: 23 }, (_, k) => 10 ** k);
/** digits of a whole number that is a double exactly */
export const exactDigits = 15;
/** splits a double in two halves of 26 bits (Dekker 1971) */
const splitter = 134_217_729;
const writtenNaN = /^[+-]?(nan|null|none|na|n\/a|nil|-+|\?+|#n\/a)$/i;
const writtenInfinity = /^([+-]?)(inf|infinity)$/i;
const wellFormed = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

/**
 * A number written in decimal, correctly rounded: the double that `Number` gives, found several times faster.
 *
 * Up to 15 digits with a power of ten up to 22 one division is exact enough (Clinger 1990); beyond that the quotient is
 * formed in twice the precision, and only where that leaves the rounding open does `Number` decide.
 *
 * @param bytes    the text; ASCII where it is a number
 * @param from,to  the cell, blanks at its ends already left out
 * @param point    the byte of the decimal mark: "." or ","
 * @returns NaN for an empty cell, a written NaN and any other text; `isText` tells them apart
 */
// biome-ignore lint/complexity/noExcessiveCognitiveComplexity: one pass over the digits, whose parts would share eight variables
export function readDecimal(bytes: Uint8Array, from: number, to: number, point: number): number {
  let at = from;
  let negative = false;
  if (at < to && (bytes[at] === 45 || bytes[at] === 43)) negative = bytes[at++] === 45;
  let high = 0; // the first 15 digits
  let low = 0; // up to 7 more
  let digits = 0; // significant ones
  let lowDigits = 0;
  let decimals = 0;
  let seen = 0; // digits and mark
  let pointSeen = false;
  for (; at < to; at++) {
    const byte = bytes[at]!;
    const digit = byte - zero;
    if (digit >= 0 && digit <= 9) {
      seen++;
      if (pointSeen) decimals++;
      if (digits > 0 || digit > 0) {
        if (digits < exactDigits) high = high * 10 + digit;
        else if (digits < 22) {
          low = low * 10 + digit;
          lowDigits++;
        } else return slowly(bytes, from, to, point);
        digits++;
      }
    } else if (byte === point && !pointSeen) pointSeen = true;
    else return slowly(bytes, from, to, point);
  }
  if (seen === 0) return from === to ? Number.NaN : slowly(bytes, from, to, point);
  if (decimals > 22) return slowly(bytes, from, to, point);
  if (lowDigits === 0) {
    const value = high / exactPowers[decimals]!;
    return negative ? -value : value;
  }
  const value = longQuotient(high, exactPowers[lowDigits]!, low, exactPowers[decimals]!);
  if (value < 0) return slowly(bytes, from, to, point);
  return negative ? -value : value;
}

/**
 * (high * shift + low) / power in twice the precision, rounded once; -1 where the last bit is in doubt.
 * All four are whole and below 2^53 (power: exact up to 10^22).
 */
function longQuotient(high: number, shift: number, low: number, power: number): number {
  // high * shift exactly as a sum of two doubles, then + low
  const product = high * shift;
  const productRest = exactRest(high, shift, product);
  const sum = product + low;
  const sumRest = low - (sum - product) + productRest;
  const first = sum + sumRest;
  const firstRest = sumRest - (first - sum);
  const quotient = first / power;
  const back = quotient * power;
  const remainder = first - back - exactRest(quotient, power, back) + firstRest;
  const correction = remainder / power;
  const value = quotient + correction;
  // what the rounding to a double left over; beside half a step (a quarter below a power of two) it is too close to call
  const left = Math.abs(correction - (value - quotient)) / stepOf(value);
  return Math.abs(left - 0.5) < 1e-6 || Math.abs(left - 0.25) < 1e-6 ? -1 : value;
}

const asDouble = new Float64Array(1);
const asWords = new Int32Array(asDouble.buffer);

/** Distance from a positive double of at least 1e-290 to the next one; built from its exponent. */
function stepOf(value: number): number {
  asDouble[0] = value;
  asWords[1] = (asWords[1]! & 0x7ff0_0000) - (52 << 20);
  asWords[0] = 0;
  return asDouble[0]!;
}

/** a * b - product, exactly, where product is a * b rounded (Dekker 1971). */
function exactRest(a: number, b: number, product: number): number {
  const a1 = splitter * a;
  const aHigh = a1 - (a1 - a);
  const aLow = a - aHigh;
  const b1 = splitter * b;
  const bHigh = b1 - (b1 - b);
  const bLow = b - bHigh;
  return aHigh * bHigh - product + aHigh * bLow + aLow * bHigh + aLow * bLow;
}

/** Exponents, many digits, written NaN and infinity, and what is no number at all. */
function slowly(bytes: Uint8Array, from: number, to: number, point: number): number {
  const text = cellText(bytes, from, to);
  // with a decimal comma a point parts thousands, which a log does not
  const written = point === 46 ? text : text.includes(".") ? "" : text.replace(",", ".");
  if (wellFormed.test(written)) return Number(written);
  const infinite = writtenInfinity.exec(text);
  return infinite === null ? Number.NaN : infinite[1] === "-" ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY;
}

/** Whether a cell for which `readDecimal` gave NaN holds text: neither nothing nor a written NaN. */
export function isText(bytes: Uint8Array, from: number, to: number): boolean {
  return to > from && !writtenNaN.test(cellText(bytes, from, to));
}

/** Whether a cell says that there is no value: nothing, a written NaN, or a word for it. */
export function isBlank(cell: string): boolean {
  return cell === "" || writtenNaN.test(cell);
}

/** The first 400 bytes of a cell as Latin-1; no number is longer. */
function cellText(bytes: Uint8Array, from: number, to: number): string {
  let text = "";
  for (let at = from; at < Math.min(to, from + 400); at++) text += String.fromCharCode(bytes[at]!);
  return text;
}
