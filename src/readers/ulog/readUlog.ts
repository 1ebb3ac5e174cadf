import { logFormats } from "../../catalogue/logFormats.ts";
import { LogError } from "../../foundation/errors.ts";
import { likelyName, nearestNames } from "../../foundation/nearest.ts";
import type { MissingSignal, RecordedSignal, Recording, SignalRequest } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import { extent } from "../../numeric/descriptive.ts";
import { topicSignal, topicsForSignal } from "../autopilot/topicSignals.ts";
import type { ReadOptions } from "../LogReader.ts";
import type { SignalTable } from "../messages/SignalTable.ts";
import type { Formats } from "./formats.ts";
import { type TopicColumns, topicTable } from "./topicTable.ts";
import { type DataTarget, headerOf, type UlogFacts, walkUlog } from "./walkUlog.ts";

interface Job {
  readonly request: SignalRequest;
  table: SignalTable | null;
  type: string;
  fault: MissingSignal | null;
}

/**
 * Reads the requested signals of a ULog; nothing else is decoded.
 *
 * Setpoints that are NaN are not controlled: their mask says so. Values stay in the log's axes.
 *
 * @throws LogError  code `log-unreadable`: see `walkUlog`; more than one file: each has its own boot
 */
export async function readUlog(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  { span = null }: ReadOptions,
): Promise<Recording> {
  if (paths.length > 1)
    throw new LogError("log-unreadable", `found ${paths.length} ULogs as parts of one log, expected one`, {
      place: paths[1]!,
      hint: "each ULog has a clock of its own: give each its own run, or join them with `logs:` and `clocks:`",
    });
  const path = paths[0]!;
  const jobs: Job[] = requests.map((request) => ({ request, table: null, type: "", fault: notTopic(request) }));
  const topics = new Set<string>();
  const { start } = headerOf(path);
  const facts = walkUlog(path, {
    onSubscription: ({ topic, format }, formats) => {
      topics.add(topic);
      const targets: DataTarget[] = [];
      for (const job of jobs) {
        if (job.fault !== null || bare(job.request.topic) !== topic) continue;
        const columns = columnsFor(job.request, format, formats);
        if ("reason" in columns) {
          job.fault = columns;
          continue;
        }
        const found = topicTable(formats, format, columns, { start, span, into: job.table });
        if (found === null) {
          job.fault = missing(
            job.request,
            "wrong-type",
            `found ${format} without a timestamp, expected one`,
            "name another topic",
          );
          continue;
        }
        job.table = found.table;
        job.type = format;
        targets.push(found.target);
      }
      if (targets.length < 2) return targets[0] ?? null;
      return (view, at, end) => {
        for (const target of targets) target(view, at, end);
      };
    },
  });
  return recordingOf(facts, jobs, [...topics].sort());
}

function recordingOf(facts: UlogFacts, jobs: readonly Job[], topics: readonly string[]): Recording {
  const signals = new Map<SignalName, RecordedSignal>();
  const lost: MissingSignal[] = [];
  const start = BigInt(facts.start) * 1000n;
  let end: Nanoseconds = start;
  for (const { request, table, type, fault } of jobs) {
    if (fault !== null) lost.push(fault);
    else if (table === null) lost.push(absent(request, topics));
    else if (table.rows === 0)
      lost.push(missing(request, "empty", "found no message", "check that the topic was published, and the span"));
    else {
      const finished = table.finish(start);
      signals.set(request.signal, {
        signal: request.signal,
        topic: request.topic,
        type,
        ...(request.fields === undefined ? { si: true } : {}),
        ...finished,
      });
      const last = extent(finished.received.seconds).high;
      const at = finished.received.epoch + BigInt(Math.round(last * 1e9));
      if (at > end) end = at;
    }
  }
  return {
    files: [facts.path],
    format: logFormats.ulog.name,
    signals,
    missing: lost,
    start,
    end,
    recovered: facts.notes.length === 0 ? null : facts.notes.join("; "),
    parameters: facts.parameters,
    ...(facts.dropouts.count > 0 ? { dropouts: facts.dropouts } : {}),
  };
}

/** Which fields of a topic serve a request, or why none do. */
function columnsFor(request: SignalRequest, format: string, formats: Formats): TopicColumns | MissingSignal {
  if (request.fields !== undefined) {
    for (const [column, path] of Object.entries(request.fields)) {
      if (formats.leaf(format, path) !== null) continue;
      const near = nearestNames(path, formats.paths(format), 16);
      return missing(
        request,
        "wrong-type",
        `field ${path} (column ${column}) of ${format}: found no number there; there are ${near.join(", ") || "none"}`,
        near[0] === undefined ? "name a topic that carries numbers" : `did you mean ${near[0]}?`,
      );
    }
    return { paths: request.fields, masked: isCommand(request.signal), unknown: {} };
  }
  const known = topicSignal(request.signal, format);
  if (known === null)
    return missing(
      request,
      "wrong-type",
      `found ${format}, expected one of ${topicsForSignal(request.signal).join(", ")}`,
      "name another topic, or say with `fields:` where its numbers are",
    );
  const paths: Record<string, string> = {};
  for (const [name, candidates] of Object.entries(known.fields)) {
    const path = candidates.find((candidate) => formats.leaf(format, candidate) !== null);
    if (path !== undefined) paths[name.replace("?", "")] = path;
    else if (!name.endsWith("?"))
      return missing(
        request,
        "wrong-type",
        `found ${format} in a version without ${candidates.join(" or ")}; there are ${formats.paths(format, 12).join(", ")}`,
        "say with `fields:` where its numbers are",
      );
  }
  return { paths, masked: known.masked, unknown: known.unknown };
}

function isCommand(signal: SignalName): boolean {
  return signal === "vehicle_setpoint" || signal === "effector_command";
}

function notTopic(request: SignalRequest): MissingSignal | null {
  const wanted = request.columns !== undefined ? "columns" : request.markers !== undefined ? "markers" : null;
  return wanted === null
    ? null
    : missing(
        request,
        "wrong-type",
        `found a ULog, expected a log with ${wanted}`,
        `say topic: instead of ${wanted}: for this signal, or name another log`,
      );
}

function absent(request: SignalRequest, topics: readonly string[]): MissingSignal {
  const wanted = bare(request.topic);
  const ordered = nearestNames(wanted, topics);
  const near = ordered.slice(0, 20);
  const rest = topics.length > near.length ? `, and ${topics.length - near.length} more` : "";
  // another layout calls the same thing otherwise: a name that is near may be of a topic that cannot serve
  const able = ordered.find((topic) => topicSignal(request.signal, topic.replace(/\/\d+$/, "")) !== null);
  const meant = (request.fields === undefined ? able : null) ?? likelyName(wanted, topics);
  return missing(
    request,
    "absent",
    `found no topic ${request.topic}; ${near.length === 0 ? "the log holds no topics" : `there are ${near.join(", ")}${rest}`}`,
    meant !== null
      ? `did you mean ${meant}?`
      : near.length === 0
        ? "record the flight again"
        : `log ${topicsForSignal(request.signal).slice(0, 3).join(" or ")} on the next flight`,
  );
}

function missing(
  request: SignalRequest,
  reason: MissingSignal["reason"],
  message: string,
  hint: string,
): MissingSignal {
  const { signal, topic } = request;
  return { signal, topic, reason, message: `${signal}${topic === "" ? "" : `, topic ${topic}`}: ${message}`, hint };
}

/** A topic's name without a slash before it, and without "/0" for the first instance. */
function bare(topic: string): string {
  return topic.replace(/^\//, "").replace(/\/0$/, "");
}
