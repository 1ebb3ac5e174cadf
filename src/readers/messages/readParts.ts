import { realpathSync } from "node:fs";
import type { Check } from "../../foundation/checks.ts";
import { LogError } from "../../foundation/errors.ts";
import type { MissingSignal, RecordedSignal, Recording, SignalRequest } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import type { LogPart, MessageTarget, Wanted } from "./LogPart.ts";
import { missing, planSignal, type SignalPlan } from "./planSignal.ts";
import { SignalTable } from "./SignalTable.ts";
import { timeRange } from "./timeRange.ts";

type Span = readonly [number, number];
interface Job {
  readonly plan: SignalPlan;
  readonly table: SignalTable;
}

/**
 * Reads the requested signals of a log of ROS messages, or of the parts of one split recording.
 *
 * Rows are in order of receipt whatever the order in the files; messages received at the same instant keep the order
 * of the log. A message too short for its type is dropped, counted, and named in `recovered`, as is everything else
 * that was lost. Memory: the columns at their exact size, the index, and one chunk.
 *
 * @param paths    the parts of one recording
 * @param requests what is wanted; nothing else is decoded
 * @param options.open    opens one part
 * @param options.format  the format's name, for a person
 * @param options.span    seconds after the log's first receipt time: only messages received in [start, end) are kept
 * @throws LogError  code `log-unreadable`: a part cannot be opened or is given twice
 */
export async function readParts(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  options: { open: (path: string) => Promise<LogPart>; format: string; span?: Span | null | undefined },
): Promise<Recording> {
  const parts: LogPart[] = [];
  try {
    for (const path of paths) parts.push(await options.open(path));
    refuseTwice(paths);
    return { ...(await signalsOfParts(parts, requests, options.span ?? null)), format: options.format };
  } finally {
    for (const part of parts) part.close();
  }
}

async function signalsOfParts(
  parts: readonly LogPart[],
  requests: readonly SignalRequest[],
  span: Span | null,
): Promise<Omit<Recording, "format">> {
  const { start, end } = timeRange(parts);
  const notes = parts.flatMap((part) => part.notes.map((note) => inPart(parts, part, note)));
  const lost: MissingSignal[] = [];
  const jobs: Job[] = [];
  const wanted: Wanted | undefined =
    start === null || span === null ? undefined : (from, to) => overlaps(from, to, start, span);
  for (const request of requests) {
    const plan = await planSignal(request, parts);
    if ("reason" in plan) {
      lost.push(plan);
      continue;
    }
    if (plan.note !== null) notes.push(plan.note);
    const capacity = parts.reduce((sum, part, i) => sum + part.messagesOf(plan.connections[i]!, wanted), 0);
    const { columns, stamped, maskable = [] } = plan.decoder;
    const published = parts.every((part) => part.publication !== undefined);
    jobs.push({ plan, table: new SignalTable(columns, { capacity, stamped, maskable, published }) });
  }
  for (const [i, part] of parts.entries()) {
    const clocks = { receipt: part.clock(start ?? 0n), publication: part.publication?.(start ?? 0n) ?? null };
    const targets = targetsOf(jobs, i, clocks, span);
    if (targets.size === 0) continue;
    const damage = await part.readMessages(targets, wanted);
    notes.push(...damage.map((note) => inPart(parts, part, note)));
  }
  const signals = new Map<SignalName, RecordedSignal>();
  for (const { plan, table } of jobs) {
    const { request, type, decoder } = plan;
    if (table.dropped > 0)
      notes.push(`topic ${request.topic}: ${table.dropped} message(s) are no whole ${type} or hold nothing: dropped`);
    const fault = decoder.fault?.(table.rows) ?? null;
    if (fault !== null) lost.push(missing(request, fault));
    else if (table.rows === 0) lost.push(empty(request, parts, plan, span));
    else
      signals.set(request.signal, { signal: request.signal, topic: request.topic, type, ...table.finish(start ?? 0n) });
  }
  return {
    files: parts.map((part) => part.path),
    signals,
    missing: lost,
    start,
    end,
    recovered: notes.length === 0 ? null : notes.join("; "),
    ...unverified(parts),
  };
}

/** Damage that a checksum would have shown is not seen where a chunk could not be held against it. */
function unverified(parts: readonly LogPart[]): Pick<Recording, "checks"> {
  const count = parts.reduce((sum, part) => sum + (part.unverified?.() ?? 0), 0);
  if (count === 0) return {};
  const check: Check = {
    code: "recovered",
    severity: "note",
    message: `${count} chunk(s) could not be held against their checksum, for they are too long or cut: they were read as they are`,
    evidence: { chunks: count },
    hint: "record in chunks of about 1 MB, or packed",
  };
  return { checks: [check] };
}

/** For each connection of a part: sets the receipt time in the tables it serves, and decodes. */
function targetsOf(
  jobs: readonly Job[],
  part: number,
  clocks: {
    receipt: ReturnType<LogPart["clock"]>;
    publication: ((view: DataView, at: number) => number) | null;
  },
  span: Span | null,
): Map<number, MessageTarget> {
  const [from, until] = span ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  const targets = new Map<number, MessageTarget>();
  for (const { plan, table } of jobs) {
    const { decoder } = plan;
    const target: MessageTarget = (first, second, view, at, end) => {
      const receipt = clocks.receipt(first, second);
      if (receipt < from || receipt >= until) return;
      table.receipt = receipt;
      if (clocks.publication !== null) table.publication = clocks.publication(view, at);
      if (!decoder.decode(view, at, end, table)) table.dropped++;
    };
    for (const id of plan.connections[part]!) {
      const before = targets.get(id);
      if (before === undefined) targets.set(id, target);
      else
        targets.set(id, (...message) => {
          before(...message);
          target(...message);
        });
    }
  }
  return targets;
}

function overlaps(from: Nanoseconds, to: Nanoseconds, start: Nanoseconds, span: Span): boolean {
  return Number(to - start) / 1e9 >= span[0] && Number(from - start) / 1e9 < span[1];
}

function inPart(parts: readonly LogPart[], part: LogPart, note: string): string {
  return parts.length === 1 ? note : `${part.path}: ${note}`;
}

function empty(request: SignalRequest, parts: readonly LogPart[], plan: SignalPlan, span: Span | null): MissingSignal {
  const total = parts.reduce((sum, part, i) => sum + part.messagesOf(plan.connections[i]!), 0);
  const outside = span !== null && total > 0;
  return {
    signal: request.signal,
    topic: request.topic,
    reason: "empty",
    message: outside
      ? `${request.signal}, topic ${request.topic}: none of its ${total} message(s) was received from ${span[0]} s to ${span[1]} s`
      : `${request.signal}, topic ${request.topic}: found no message${total > 0 ? ` that can be used of ${total}` : ""}`,
    hint: outside
      ? "count the span from the log's first message"
      : "check that the publisher ran while the flight was recorded",
  };
}

function refuseTwice(paths: readonly string[]): void {
  const seen = new Set<string>();
  for (const path of paths) {
    const real = realpathSync(path);
    if (seen.has(real))
      throw new LogError("log-unreadable", "found the same file twice among the parts of one log, expected each once", {
        place: path,
        hint: "list each part of a split recording once",
      });
    seen.add(real);
  }
}
