import { nearestNames } from "../../foundation/nearest.ts";
import type { MissingSignal, SignalRequest } from "../../foundation/recording.ts";
import type { BagConnection, BagLayout } from "./bagLayout.ts";
import type { DecoderFault, MessageDecoder } from "./MessageDecoder.ts";
import { knownType, typesFor } from "./signalTypes.ts";

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
  parts: readonly BagLayout[],
): Promise<SignalPlan | MissingSignal> {
  const topic = topicNamed(request.topic, parts);
  if (topic === null) return absent(request, parts);
  const all = parts.flatMap((part) => [...part.connections.values()].filter((each) => each.topic === topic));
  const kinds = [...new Map(all.map((each) => [`${each.type} ${each.md5}`, each])).values()];
  const able: { kind: BagConnection; decoder: MessageDecoder }[] = [];
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
    message: `${request.signal}, topic ${request.topic}: ${fault.message}`,
    hint: fault.hint,
  };
}

/** Messages of some connections of a part, by its index. */
export function messagesOf(part: BagLayout, connections: ReadonlySet<number>): number {
  let sum = 0;
  for (const chunk of part.chunks) for (const id of connections) sum += chunk.shares.get(id)?.count ?? 0;
  return sum;
}

async function decoderFor(request: SignalRequest, kind: BagConnection): Promise<MessageDecoder | DecoderFault> {
  if (request.fields !== undefined) {
    const { fieldsDecoder } = await import("./fieldsDecoder.ts");
    return fieldsDecoder(kind.type, kind.definition, request.fields);
  }
  const known = knownType(request.signal, kind.type);
  if (known === null) {
    return {
      reason: "wrong-type",
      message: `found type ${kind.type}, expected one of ${typesFor(request.signal).join(", ")}`,
      hint: "name another topic, or say with `fields:` where its numbers are",
    };
  }
  if (kind.md5 !== "*" && !known.md5.includes(kind.md5)) {
    return {
      reason: "wrong-type",
      message: `found ${kind.type} in a version that is not known (md5sum ${kind.md5}), expected ${known.md5.join(" or ")}`,
      hint: "say with `fields:` where its numbers are",
    };
  }
  return known.decoder(request, kind.md5);
}

/** The topic as the log writes it: exactly, else with or without its leading slash; null where there is none. */
function topicNamed(wanted: string, parts: readonly BagLayout[]): string | null {
  const topics = topicsOf(parts);
  const bare = (name: string): string => name.replace(/^\//, "");
  return topics.includes(wanted) ? wanted : (topics.find((topic) => bare(topic) === bare(wanted)) ?? null);
}

function topicsOf(parts: readonly BagLayout[]): string[] {
  return [...new Set(parts.flatMap((part) => [...part.connections.values()].map((each) => each.topic)))].sort();
}

function idsOf(part: BagLayout, topic: string, kind: BagConnection): ReadonlySet<number> {
  const same = [...part.connections.values()].filter(
    (each) => each.topic === topic && each.type === kind.type && each.md5 === kind.md5,
  );
  return new Set(same.map((each) => each.id));
}

function countOf(parts: readonly BagLayout[], topic: string, kind: BagConnection): number {
  return parts.reduce((sum, part) => sum + messagesOf(part, idsOf(part, topic, kind)), 0);
}

function absent(request: SignalRequest, parts: readonly BagLayout[]): MissingSignal {
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

function twoTypes(request: SignalRequest, kinds: readonly BagConnection[]): MissingSignal {
  const types = kinds.map((kind) => `${kind.type} (md5sum ${kind.md5.slice(0, 8)})`);
  return missing(request, {
    reason: "wrong-type",
    message: `found messages of ${types.join(" and ")}, expected one type`,
    hint: "have the two publishers use a topic each",
  });
}
