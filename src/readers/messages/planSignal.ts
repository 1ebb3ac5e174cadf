import { nearestNames } from "../../foundation/nearest.ts";
import type { MissingSignal, SignalRequest } from "../../foundation/recording.ts";
import { autopilotSignal } from "./autopilotDecoder.ts";
import { connectionLayout } from "./definition.ts";
import type { LogConnection, LogPart } from "./LogPart.ts";
import type { DecoderFault, MessageDecoder } from "./MessageDecoder.ts";
import { knownType, typesFor } from "./signalTypes.ts";
import { Wire } from "./Wire.ts";

/** A request that the log can serve: who decodes what. */
export interface SignalPlan {
  readonly request: SignalRequest;
  readonly type: string;
  readonly decoder: MessageDecoder;
  /** one set of connection ids per part of the log */
  readonly connections: readonly ReadonlySet<number>[];
  /** what a person should know of the choice; null where there was none */
  readonly note: string | null;
}

/**
 * Decides from the index how a request is served.
 *
 * A topic that several publish is one signal. A topic with two types serves where only one of them can.
 */
export async function planSignal(
  request: SignalRequest,
  parts: readonly LogPart[],
): Promise<SignalPlan | MissingSignal> {
  if (request.columns !== undefined || request.markers !== undefined) return notMessages(request, parts);
  const topic = topicNamed(request.topic, parts);
  if (topic === null) return absent(request, parts);
  const all = parts.flatMap((part) => [...part.connections.values()].filter((each) => each.topic === topic));
  const kinds = [...new Map(all.map((each) => [kindOf(each), each])).values()];
  const able: { kind: LogConnection; decoder: MessageDecoder }[] = [];
  let fault: DecoderFault | null = null;
  for (const kind of kinds) {
    const decoder = await decoderFor(request, kind);
    if ("decode" in decoder) able.push({ kind, decoder });
    else fault ??= decoder;
  }
  const chosen = able.length > 1 ? able.filter(({ kind }) => countOf(parts, topic, kind) > 0) : able;
  if (chosen.length > 1)
    return twoTypes(
      request,
      chosen.map(({ kind }) => kind),
    );
  const first = chosen[0] ?? able[0];
  if (first === undefined) return missing(request, fault!);
  const left = kinds.filter((kind) => kind !== first.kind);
  const unread = left.reduce((sum, kind) => sum + countOf(parts, topic, kind), 0);
  return {
    request,
    type: first.kind.type,
    decoder: first.decoder,
    connections: parts.map((part) => idsOf(part, topic, first.kind)),
    note:
      unread > 0
        ? `topic ${topic} also carries ${unread} message(s) of ${left.map((kind) => kind.type).join(", ")}, which are not read`
        : null,
  };
}

/** A request that cannot be served, from a decoder's words. */
export function missing(request: SignalRequest, fault: DecoderFault): MissingSignal {
  return {
    signal: request.signal,
    topic: request.topic,
    reason: fault.reason,
    message: `${request.signal}${request.topic === "" ? "" : `, topic ${request.topic}`}: ${fault.message}`,
    hint: fault.hint,
  };
}

async function decoderFor(request: SignalRequest, kind: LogConnection): Promise<MessageDecoder | DecoderFault> {
  const { type, encoding, md5 } = kind;
  if (encoding !== "ros1" && encoding !== "cdr") return foreignEncoding(kind);
  const wire = new Wire(encoding);
  if (request.body !== undefined) {
    const { bodiesDecoder } = await import("./bodiesDecoder.ts");
    return bodiesDecoder(kind, wire, request.body);
  }
  if (request.fields !== undefined) {
    const { fieldsDecoder } = await import("./fieldsDecoder.ts");
    return fieldsDecoder(kind, wire, request.fields);
  }
  const autopilot = autopilotSignal(request.signal, type);
  if (autopilot !== null) {
    const { autopilotDecoder } = await import("./autopilotDecoder.ts");
    return autopilotDecoder(kind, wire, autopilot);
  }
  const known = knownType(request.signal, type);
  if (known === null) {
    return {
      reason: "wrong-type",
      message: `found type ${type}, expected one of ${typesFor(request.signal).join(", ")}`,
      hint: "name another topic, or say with `fields:` where its numbers are",
    };
  }
  if (hasSum(kind)) {
    if (known.md5.includes(md5)) return known.decoder(request, wire, md5);
    return unknownVersion(type, `md5sum ${md5}`, known.md5);
  }
  // without sum or definition the name must do; every length is still checked
  const layout = md5 === "*" ? null : connectionLayout(kind);
  if (layout === null || known.layouts.includes(layout)) return known.decoder(request, wire, layout ?? "");
  return unknownVersion(type, `fields ${layout.length > 60 ? `${layout.slice(0, 60)}...` : layout}`, known.layouts);
}

function hasSum({ encoding, md5 }: LogConnection): boolean {
  return encoding === "ros1" && md5 !== "*" && md5 !== "";
}

function unknownVersion(type: string, found: string, expected: readonly string[]): DecoderFault {
  return {
    reason: "wrong-type",
    message: `found ${type} in a version that is not known (${found}), expected ${expected.join(" or ")}`,
    hint: "say with `fields:` where its numbers are",
  };
}

function foreignEncoding({ type, encoding }: LogConnection): DecoderFault {
  return {
    reason: "wrong-type",
    message: `found ${type === "" ? "messages" : `messages of ${type}`} in the encoding ${encoding === "" ? "without a name" : `"${encoding}"`}, expected "cdr" (ROS 2) or "ros1"`,
    hint: "record the topic as ROS messages",
  };
}

/** What tells versions of types apart: name, encoding, and sum or else layout. */
function kindOf(connection: LogConnection): string {
  const { type, encoding, md5 } = connection;
  return `${type} ${encoding} ${hasSum(connection) || md5 === "*" ? md5 : (connectionLayout(connection) ?? connection.definition)}`;
}

/** The topic as the log writes it: exactly, else with or without its leading slash; null where there is none. */
function topicNamed(wanted: string, parts: readonly LogPart[]): string | null {
  const topics = topicsOf(parts);
  const bare = (name: string): string => name.replace(/^\//, "");
  return topics.includes(wanted) ? wanted : (topics.find((topic) => bare(topic) === bare(wanted)) ?? null);
}

function topicsOf(parts: readonly LogPart[]): string[] {
  return [...new Set(parts.flatMap((part) => [...part.connections.values()].map((each) => each.topic)))].sort();
}

function idsOf(part: LogPart, topic: string, kind: LogConnection): ReadonlySet<number> {
  const same = [...part.connections.values()].filter((each) => each.topic === topic && kindOf(each) === kindOf(kind));
  return new Set(same.map((each) => each.id));
}

function countOf(parts: readonly LogPart[], topic: string, kind: LogConnection): number {
  return parts.reduce((sum, part) => sum + part.messagesOf(idsOf(part, topic, kind)), 0);
}

function absent(request: SignalRequest, parts: readonly LogPart[]): MissingSignal {
  const topics = topicsOf(parts);
  const near = nearestNames(request.topic, topics, 20);
  const rest = topics.length > near.length ? `, and ${topics.length - near.length} more` : "";
  return {
    signal: request.signal,
    topic: request.topic,
    reason: "absent",
    message:
      near.length === 0
        ? `${request.signal}: found no topic ${request.topic}; the log holds no topics`
        : `${request.signal}: found no topic ${request.topic}; there are ${near.join(", ")}${rest}`,
    hint: near[0] === undefined ? "record the flight again" : `did you mean ${near[0]}?`,
  };
}

/** A request for a table's columns or a point file's markers. */
function notMessages(request: SignalRequest, parts: readonly LogPart[]): MissingSignal {
  const wanted = request.columns !== undefined ? "columns" : "markers";
  const topics = topicsOf(parts);
  const shown =
    topics.length > 12 ? `${topics.slice(0, 12).join(", ")}, and ${topics.length - 12} more` : topics.join(", ");
  return missing(request, {
    reason: "wrong-type",
    message: `found a log of messages, expected one with ${wanted}${shown === "" ? "" : `; its topics: ${shown}`}`,
    hint: `say topic: instead of ${wanted}: for this signal, or name another log`,
  });
}

function twoTypes(request: SignalRequest, kinds: readonly LogConnection[]): MissingSignal {
  const types = kinds.map((kind) =>
    hasSum(kind) ? `${kind.type} (md5sum ${kind.md5.slice(0, 8)})` : `${kind.type} (in ${kind.encoding})`,
  );
  return missing(request, {
    reason: "wrong-type",
    message: `found messages of ${types.join(" and ")}, expected one type`,
    hint: "have the two publishers use a topic each",
  });
}
