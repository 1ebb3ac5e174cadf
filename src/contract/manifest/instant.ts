import type { Nanoseconds } from "../../foundation/units.ts";
import { Complaint } from "./problems.ts";
import { describeFound } from "./textTree.ts";

const shape =
  /^(\d{4})-(\d\d)-(\d\d)[Tt ](\d\d):(\d\d)(?::(\d\d)(?:\.(\d{1,9}))?)?\s*(?:([Zz])|([+-])(\d\d):?(\d\d)?)?$/;

/**
 * An ISO 8601 date and time as nanoseconds since 1970, exact to the nanosecond.
 *
 * Without a zone it is UTC, as in YAML's own timestamp type. A date alone is refused: it does not order the
 * flights of a day.
 *
 * @param found  such as "2026-09-14T09:30:00+02:00"
 * @throws Complaint  not of that form, or no such day or hour
 * @source YAML timestamp type (2005-01-18): "If the time zone is omitted, the timestamp is assumed to be specified in UTC"
 */
export function parseInstant(found: unknown): Nanoseconds {
  const expected = `found ${describeFound(found)}, expected a date and time such as 2026-09-14T09:30:00Z`;
  const match = typeof found === "string" ? shape.exec(found.trim()) : null;
  if (match === null) throw new Complaint(expected, { hint: "date, T, time, then Z or the zone such as +02:00" });
  const [year, month, day, hour, minute, second, zoneHours, zoneMinutes] = [1, 2, 3, 4, 5, 6, 10, 11].map((group) =>
    Number(match[group] ?? 0),
  ) as [number, number, number, number, number, number, number, number];
  const local = new Date(Date.UTC(year, month - 1, day, hour, minute, second));
  const real =
    local.getUTCMonth() === month - 1 && local.getUTCDate() === day && hour < 24 && minute < 60 && second < 60;
  if (!real || zoneHours > 23 || zoneMinutes > 59) {
    throw new Complaint(expected, { hint: "there is no such day or time" });
  }
  const zone = (zoneHours * 60 + zoneMinutes) * (match[9] === "-" ? -1 : 1);
  const fraction = BigInt((match[7] ?? "").padEnd(9, "0"));
  return BigInt(local.getTime() - zone * 60_000) * 1_000_000n + fraction;
}

/**
 * Seconds from one frame to the next, where the unit of a time is a frame rate, such as "100 Hz": captures that are exported
 * without times number their frames.
 *
 * @returns null where the text is no rate from 0.1 Hz to 100 kHz
 * @example framePeriod("200 Hz") // => 0.005
 */
export function framePeriod(unit: string): number | null {
  const rate = Number(/^\s*(\d+(?:\.\d+)?)\s*Hz\s*$/.exec(unit)?.[1] ?? Number.NaN);
  return rate >= 0.1 && rate <= 1e5 ? 1 / rate : null;
}
