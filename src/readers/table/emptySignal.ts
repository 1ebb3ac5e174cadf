import type { MissingSignal, SignalRequest } from "../../foundation/recording.ts";
import { isBlank } from "./decimal.ts";
import type { Tabular } from "./Tabular.ts";
import type { SignalPart } from "./tableRows.ts";

/** No cell of the time column could be read as one: shows a cell, for its notation is the likeliest reason. */
export function noTimes(
  request: SignalRequest,
  plan: readonly { readonly time: number }[],
  tables: readonly Tabular[],
): MissingSignal {
  const cells = plan.flatMap(({ time }, k) => tables[k]!.sample(time));
  const cell = cells.find((text) => !isBlank(text));
  const name = tables[0]!.names[plan[0]!.time]!;
  const comma = tables[0]!.shape.decimal === "comma";
  return {
    signal: request.signal,
    topic: request.topic,
    reason: cell === undefined ? "empty" : "wrong-type",
    message:
      cell === undefined
        ? `${request.signal}: found no time in the column ${name}`
        : `${request.signal}: found ${JSON.stringify(cell.slice(0, 40))} in the column of times ${name}, expected ${comma ? "a number with a decimal comma" : "a number"} or a date`,
    hint: "write numbers, dates such as 2026-09-14 09:30:00.25 or 14-Sep-2026 09:30:00.25, or times of day such as 09:30:00.25",
  };
}

/** No row has both a time and a value, or none lies in the span. */
export function noRows(
  request: SignalRequest,
  parts: readonly SignalPart[],
  span: readonly [number, number] | null,
): MissingSignal {
  const rows = parts.reduce((sum, part) => sum + part.rows, 0);
  return {
    signal: request.signal,
    topic: request.topic,
    reason: "empty",
    message:
      span !== null && rows > 0
        ? `${request.signal}: none of the ${rows} row(s) lies from ${span[0]} s to ${span[1]} s`
        : `${request.signal}: found no row with a time and a value among ${rows}`,
    hint: span === null ? "look at the columns: are they filled?" : "count the span from the table's first time",
  };
}
