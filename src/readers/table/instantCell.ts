import { readDecimal } from "./decimal.ts";

/** An instant in whole seconds and nanoseconds within them (0 to 999 999 999); both NaN where a cell holds none. */
export interface Instant {
  sec: number;
  nsec: number;
}

const digits = new Uint8Array(64);
const date =
  /^(\d{4})[-/.](\d\d?)[-/.](\d\d?)(?:[Tt ]+(\d\d?):(\d\d)(?::(\d\d)(?:[.,](\d{1,9})\d*)?)?)?\s*(?:([Zz]|UTC|GMT)|([+-])(\d\d):?(\d\d)?)?$/;

/**
 * Reads a time written in decimal without loss: a double of 1.8e9 s resolves only 0.24 us, the digits say more.
 *
 * @param power  the unit is 10^-power seconds (0: s, 3: ms, 6: us, 9: ns)
 * @param into   takes the instant, rounded to the nearest nanosecond; NaN where the cell is no number
 */
export function readInstant(
  bytes: Uint8Array,
  from: number,
  to: number,
  { point, power }: { point: number; power: number },
  into: Instant,
): void {
  into.sec = Number.NaN;
  into.nsec = Number.NaN;
  let at = from;
  let negative = false;
  if (at < to && (bytes[at] === 45 || bytes[at] === 43)) negative = bytes[at++] === 45;
  let count = 0;
  let before = -1; // digits before the mark
  for (; at < to; at++) {
    const digit = bytes[at]! - 48;
    if (digit >= 0 && digit <= 9 && count < digits.length) digits[count++] = digit;
    else if (bytes[at] === point && before < 0) before = count;
    else break;
  }
  if (at < to) fromDouble(readDecimal(bytes, from, to, point), power, into);
  if (at < to || count === 0) return;
  const whole = (before < 0 ? count : before) - power;
  const sec = digitsFrom(0, whole, count);
  const roundUp = whole + 9 >= 0 && whole + 9 < count && digits[whole + 9]! >= 5;
  const nsec = digitsFrom(whole, whole + 9, count) + (roundUp ? 1 : 0);
  put(into, negative ? -sec : sec, negative ? -nsec : nsec);
}

/** The whole number that digits [from, to) of `count` write; those that are not there are 0. */
function digitsFrom(from: number, to: number, count: number): number {
  let value = 0;
  for (let k = from; k < to; k++) value = value * 10 + (k >= 0 && k < count ? digits[k]! : 0);
  return value;
}

function fromDouble(value: number, power: number, into: Instant): void {
  if (!Number.isFinite(value)) return;
  const scale = 10 ** power;
  const sec = Math.floor(value / scale);
  put(into, sec, Math.round(((value - sec * scale) / scale) * 1e9));
}

function put(into: Instant, sec: number, nsec: number): void {
  const carry = Math.floor(nsec / 1e9);
  into.sec = sec + carry;
  into.nsec = nsec - carry * 1e9;
}

const timeOfDay = /^(?:([+-]?\d+) days? \+?)?(\d\d?):(\d\d):(\d\d)(?:[.,](\d{1,9})\d*)?$/;
/** day first, which is certain only where the month is a word or points part the numbers */
const dayFirst = /^(\d\d?)(?:-([A-Za-z]{3})-|\.(\d\d?)\.)(\d{4})/;
const months = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/**
 * Reads a date with time, such as "2026-09-14T09:30:00.25Z" or "14-Sep-2026 09:30:00.25"; without a zone it is taken for
 * UTC. A time of day alone, "09:30:00.25", counts from midnight, and so does one behind days, "1 days 09:30:00". Dates
 * such as 03/04/2026 are none: nothing tells which is the month.
 *
 * @param into  takes the instant since 1970; NaN where the text is no date
 * @source ISO 8601-1:2019; also a blank for the T, and / or . between the parts of the date
 */
export function readDate(text: string, into: Instant): void {
  into.sec = Number.NaN;
  into.nsec = Number.NaN;
  const trimmed = text.trim();
  const clock = timeOfDay.exec(trimmed);
  if (clock !== null) {
    into.sec = 86_400 * Number(clock[1] ?? 0) + 3600 * Number(clock[2]) + 60 * Number(clock[3]) + Number(clock[4]);
    into.nsec = Number((clock[5] ?? "").padEnd(9, "0"));
    return;
  }
  const match = date.exec(trimmed) ?? date.exec(trimmed.replace(dayFirst, yearFirst));
  if (match === null) return;
  const part = (group: number): number => Number(match[group] ?? 0);
  const [year, month, day, hour, minute, second] = [part(1), part(2), part(3), part(4), part(5), part(6)];
  const at = new Date(Date.UTC(year, month - 1, day, hour, minute, second));
  if (at.getUTCMonth() !== month - 1 || at.getUTCDate() !== day || hour > 23 || minute > 59 || second > 60) return;
  const zone = (part(10) * 60 + part(11)) * (match[9] === "-" ? -1 : 1);
  into.sec = at.getTime() / 1000 - zone * 60;
  into.nsec = Number((match[7] ?? "").padEnd(9, "0"));
}

function yearFirst(_: string, day: string, word: string | undefined, month: string | undefined, year: string): string {
  return `${year}-${word === undefined ? month : months.indexOf(word.toLowerCase()) + 1}-${day}`;
}
