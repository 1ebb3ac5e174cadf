import { realpathSync } from "node:fs";
import { LogError } from "../../foundation/errors.ts";
import type { MissingSignal, RecordedSignal, Recording, SignalRequest } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/signals.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import { type BagChunk, type BagLayout, timeRange } from "./bagLayout.ts";
import { openBag } from "./openBag.ts";
import { messagesOf, missing, planSignal, type SignalPlan } from "./planSignals.ts";
import { readMessages } from "./readMessages.ts";
import { SignalTable, secondsAfter } from "./SignalTable.ts";
import type { MessageTarget } from "./walkRecords.ts";

/**
 * Reads the requested signals of a ROS 1 bag, or of the parts of one split recording.
 *
 * Rows are in order of receipt whatever the order of chunks in the file; messages received at the same instant keep
 * the order of the log. A message too short for its type is dropped, counted, and named in `recovered`, as is
 * everything else that was lost. Memory: the columns at their exact size, the index, and one chunk.
 *
 * @param paths    the parts of one recording
 * @param requests what is wanted; nothing else is decoded
 * @param options.span  seconds after the log's first receipt time: only messages received in [start, end) are kept
 * @throws LogError  code `log-unreadable`: a part is no file, no bag of version 2.0, encrypted, packed in a way that is
 *                   not known, or given twice
 */
export async function readRosbag(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  options: { span?: readonly [number, number] | null } = {},
): Promise<Recording> {
  const parts: BagLayout[] = [];
  try {
    for (const path of paths) parts.push(await openBag(path));
    refuseTwice(paths);
    return await readParts(parts, requests, options.span ?? null);
  } finally {
    for (const part of parts) part.file.close();
  }
}

async function readParts(
  parts: readonly BagLayout[],
  requests: readonly SignalRequest[],
  span: readonly [number, number] | null,
): Promise<Recording> {
  const { start, end } = timeRange(parts.flatMap((part) => part.chunks));
  const notes = parts.flatMap((part) => part.notes.map((note) => inPart(parts, part, note)));
  const lost: MissingSignal[] = [];
  const jobs: { plan: SignalPlan; table: SignalTable }[] = [];
  const kept = (chunk: BagChunk): boolean => start === null || span === null || overlaps(chunk, start, span);
  for (const request of requests) {
    const plan = await planSignal(request, parts);
    if ("reason" in plan) {
      lost.push(plan);
      continue;
    }
    if (plan.note !== null) notes.push(plan.note);
    const capacity = parts.reduce(
      (sum, part, i) => sum + messagesOf({ ...part, chunks: part.chunks.filter(kept) }, plan.connections[i]!),
      0,
    );
    const { columns, stamped, maskable = [] } = plan.decoder;
    jobs.push({ plan, table: new SignalTable(columns, { capacity, stamped, maskable }) });
  }
  for (const [i, part] of parts.entries()) {
    const targets = targetsOf(jobs, i, start ?? 0n, span);
    if (targets.size === 0) continue;
    const damage = await readMessages({ ...part, chunks: part.chunks.filter(kept) }, targets);
    notes.push(...damage.map((note) => inPart(parts, part, note)));
  }
  const signals = new Map<SignalName, RecordedSignal>();
  for (const { plan, table } of jobs) {
    const { request, type, decoder } = plan;
    if (table.dropped > 0)
      notes.push(
        `topic ${request.topic}: ${table.dropped} message(s) of ${type} are cut short or hold nothing: dropped`,
      );
    const fault = decoder.fault?.(table.rows) ?? null;
    if (fault !== null) lost.push(missing(request, fault));
    else if (table.rows === 0) lost.push(empty(request, parts, plan, span));
    else
      signals.set(request.signal, { signal: request.signal, topic: request.topic, type, ...table.finish(start ?? 0n) });
  }
  return {
    files: parts.map((part) => part.file.path),
    format: "ROS 1 bag",
    signals,
    missing: lost,
    start,
    end,
    recovered: notes.length === 0 ? null : notes.join("; "),
  };
}

/** For each connection of a part: sets the receipt time in the tables it serves, and decodes. */
function targetsOf(
  jobs: readonly { plan: SignalPlan; table: SignalTable }[],
  part: number,
  start: Nanoseconds,
  span: readonly [number, number] | null,
): Map<number, MessageTarget> {
  const startSec = Number(start / 1_000_000_000n);
  const startNsec = Number(start % 1_000_000_000n);
  const [from, until] = span ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  const targets = new Map<number, MessageTarget>();
  for (const { plan, table } of jobs) {
    const { decoder } = plan;
    const target: MessageTarget = (sec, nsec, view, at, end) => {
      const receipt = secondsAfter(sec, nsec, startSec, startNsec);
      if (receipt < from || receipt >= until) return;
      table.receipt = receipt;
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

function overlaps(chunk: BagChunk, start: Nanoseconds, span: readonly [number, number]): boolean {
  return Number(chunk.end - start) / 1e9 >= span[0] && Number(chunk.start - start) / 1e9 < span[1];
}

function inPart(parts: readonly BagLayout[], part: BagLayout, note: string): string {
  return parts.length === 1 ? note : `${part.file.path}: ${note}`;
}

function empty(
  request: SignalRequest,
  parts: readonly BagLayout[],
  plan: SignalPlan,
  span: readonly [number, number] | null,
): MissingSignal {
  const total = parts.reduce((sum, part, i) => sum + messagesOf(part, plan.connections[i]!), 0);
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
