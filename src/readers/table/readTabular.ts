import { realpathSync } from "node:fs";
import { originOf } from "../../contract/campaignParts.ts";
import { LogError } from "../../foundation/errors.ts";
import type { MissingSignal, RecordedSignal, Recording, SignalRequest } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import type { ReadOptions } from "../LogReader.ts";
import type { ColumnKind } from "./ColumnSink.ts";
import { columnNamed, otherColumns, otherUnits, unitsOf } from "./columnNames.ts";
import { isBlank } from "./decimal.ts";
import type { Tabular, TabularRows } from "./Tabular.ts";
import { type SignalPart, signalOfRows, timesOf } from "./tableRows.ts";
import { type TimeKind, timeKind } from "./timeKind.ts";

/** Which columns serve a request, in one file. */
interface Plan {
  readonly request: SignalRequest;
  readonly time: number;
  readonly timeKind: TimeKind;
  /** role -> number of the column */
  readonly roles: Readonly<Record<string, number>>;
}

/**
 * Reads the requested signals of a table, or of the parts of one that its recorder split (each with its own heading).
 *
 * @param open  opens one part
 * @throws LogError  code `log-unreadable`: a part cannot be opened or is given twice
 */
export async function readTabular(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  { open, span }: ReadOptions & { open: (path: string) => Promise<Tabular> },
): Promise<Recording> {
  const tables: Tabular[] = [];
  try {
    for (const path of paths) tables.push(await open(path));
    refuseTwice(paths);
    return await readTables(tables, requests, span ?? null);
  } finally {
    for (const table of tables) table.close();
  }
}

async function readTables(
  tables: readonly Tabular[],
  requests: readonly SignalRequest[],
  span: readonly [number, number] | null,
): Promise<Recording> {
  const { plans, lost } = plansFor(requests, tables);
  const read: TabularRows[] = [];
  for (const [k, table] of tables.entries()) read.push(await table.read(wantedColumns(plans.map((plan) => plan[k]!))));
  const notes = read.flatMap((rows, k) =>
    rows.notes.map((note) => (tables.length === 1 ? note : `${tables[k]!.path}: ${note}`)),
  );
  const signals = new Map<SignalName, RecordedSignal>();
  let [start, end]: [Nanoseconds | null, Nanoseconds | null] = [null, null];
  for (const plan of plans) {
    const { request } = plan[0]!;
    const parts = plan.map((part, k) => partOf(part, read[k]!));
    const times = timesOf(parts);
    if (times !== null && (start === null || times.start < start)) start = times.start;
    if (times !== null && (end === null || times.end > end)) end = times.end;
    const { signal, timeless } = signalOfRows(
      { signal: request.signal, topic: originOf({ topic: null, columns: request.columns ?? null, markers: null }) },
      parts,
      {
        start: times?.start ?? 0n,
        span,
        type: tables[0]!.format,
        units: unitsOf(plan[0]!, tables[0]!),
        notes: [plan[0]!.timeKind.note, repeatedNames(plan[0]!, tables[0]!)].filter((note) => note !== null),
      },
    );
    const blank = timeless - read.reduce((sum, { discarded }) => sum + discarded, 0);
    if (blank > 0) notes.push(`${blank} row(s) have no time in the column ${request.columns!.t}: left out`);
    if (signal.received.seconds.length > 0) signals.set(request.signal, signal);
    else if (times === null) lost.push(noTimes(request, plan, tables));
    else lost.push(noRows(request, parts, span));
  }
  return {
    files: tables.map(({ path }) => path),
    format: tables[0]!.format,
    signals,
    missing: lost,
    start,
    end,
    recovered: notes.length === 0 ? null : [...new Set(notes)].join("; "),
  };
}

/** By which columns of each table the signals are read, and what cannot be. */
function plansFor(
  requests: readonly SignalRequest[],
  tables: readonly Tabular[],
): { plans: Plan[][]; lost: MissingSignal[] } {
  const lost: MissingSignal[] = [];
  const plans: Plan[][] = [];
  for (const request of requests) {
    const found = tables.map((table) => planFor(request, table));
    const fault = found.find((plan) => "reason" in plan);
    const uneven = fault === undefined ? otherUnits(request, found as Plan[], tables) : null;
    if (fault !== undefined) lost.push(fault as MissingSignal);
    else if (uneven !== null) lost.push(uneven);
    else plans.push(found as Plan[]);
  }
  return { plans, lost };
}

function wantedColumns(plans: readonly Plan[]): Map<number, ColumnKind> {
  const wanted = new Map<number, ColumnKind>();
  for (const { roles } of plans) for (const column of Object.values(roles)) wanted.set(column, { kind: "number" });
  for (const {
    time,
    timeKind: { kind },
  } of plans)
    wanted.set(time, kind);
  return wanted;
}

function planFor(request: SignalRequest, table: Tabular): Plan | MissingSignal {
  const { columns, signal } = request;
  const lacking = (reason: MissingSignal["reason"], message: string, hint: string): MissingSignal => ({
    signal,
    topic: request.topic,
    reason,
    message: `${signal}: ${message}`,
    hint,
  });
  if (columns === undefined)
    return lacking(
      "wrong-type",
      `found a table (${table.format}), expected a log with ${request.markers === undefined ? `topic ${request.topic}` : "markers"}; its columns: ${otherColumns("", table.names).there}`,
      "say columns: { t: ..., x: ..., y: ..., z: ... } for this signal, or name another log",
    );
  const roles: Record<string, number> = {};
  for (const [role, name] of Object.entries(columns)) {
    const column = columnNamed(name, table.names);
    if (column === null) {
      const { there, hint } = otherColumns(name, table.names);
      return lacking("absent", `found no column ${JSON.stringify(name)} for ${role}; there are ${there}`, hint);
    }
    roles[role] = column;
  }
  const { t, ...rest } = roles;
  if (t === undefined)
    return lacking(
      "wrong-type",
      "found no column for t, expected the time of every row",
      "add t: and the column's name",
    );
  if (Object.values(rest).includes(t))
    return lacking(
      "wrong-type",
      `found the column ${JSON.stringify(columns.t)} both for t and for a value`,
      "give each its own column",
    );
  const head = { unit: table.units[t] ?? null, name: table.names[t]! };
  return { request, time: t, timeKind: timeKind(request, table.sample(t), head), roles: rest };
}

function partOf({ time, timeKind: { scale }, roles }: Plan, { rows, columns }: TabularRows): SignalPart {
  return {
    rows,
    time: columns.get(time)!,
    timeScale: scale,
    columns: Object.fromEntries(Object.entries(roles).map(([role, column]) => [role, columns.get(column)!])),
  };
}

function refuseTwice(paths: readonly string[]): void {
  const real = paths.map((path) => realpathSync(path));
  const twice = real.findIndex((path, k) => real.indexOf(path) !== k);
  if (twice >= 0)
    throw new LogError("log-unreadable", "found the same file twice among the parts of one log, expected each once", {
      place: paths[twice]!,
      hint: "list each part of a split recording once",
    });
}

/** Names that the heading writes more than once: the first column of a name bears it, the others a number behind it. */
function repeatedNames(
  { time, roles }: { readonly time: number; readonly roles: Readonly<Record<string, number>> },
  { names }: Tabular,
): string | null {
  const read = [...new Set([time, ...Object.values(roles)])].map((column) => names[column]!);
  const repeated = read.filter((name) => names.includes(`${name} (2)`));
  return repeated.length === 0
    ? null
    : `the heading has several columns called ${repeated.join(", ")}: the first of each is taken, the next is called ${JSON.stringify(`${repeated[0]} (2)`)}`;
}

/** No cell of the time column could be read as one: shows a cell, for its notation is the likeliest reason. */
function noTimes(
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
function noRows(
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
