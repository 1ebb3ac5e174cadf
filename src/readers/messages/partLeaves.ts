import { LogError } from "../../foundation/errors.ts";
import { nearestNames } from "../../foundation/nearest.ts";
import type { TopicLeaves } from "../LogReader.ts";
import { numberOf } from "./fieldsDecoder.ts";
import type { LogConnection, LogPart, MessageTarget } from "./LogPart.ts";
import { Wire } from "./Wire.ts";
import { definitionsOf, type WholeMessages, wholeMessages } from "./wholeMessages.ts";

/** As many messages are looked at, and as many elements of an array: a person wants to see what is where. */
const [firstMessages, firstElements] = [3, 24];
const mostLeaves = 500;

class Enough extends Error {}

/**
 * The numbers of a topic's first messages, by their paths.
 *
 * @throws LogError  code `log-unreadable`: there is no such topic, or its log holds no definition of its type
 */
export async function partLeaves(part: LogPart, topic: string): Promise<TopicLeaves> {
  const all = [...part.connections.values()];
  const connections = all.filter((each) => each.topic === topic);
  const [first] = connections;
  if (first === undefined) {
    const near = nearestNames(topic, [...new Set(all.map((each) => each.topic))], 12);
    throw new LogError("log-unreadable", `found no topic ${topic}, expected one of ${near.join(", ") || "none"}`, {
      place: part.path,
      hint: near[0] === undefined ? "the log holds no topics" : `did you mean ${near[0]}?`,
    });
  }
  const readers = new Map(
    connections.filter(({ type }) => type === first.type).map((each) => [each.id, readerOf(part, each)]),
  );
  const messages: unknown[] = [];
  const targets = new Map<number, MessageTarget>();
  for (const [id, read] of readers)
    targets.set(id, (_first, _second, view, at, end) => {
      if (messages.length >= firstMessages) throw new Enough();
      messages.push(read(view, at, end));
    });
  try {
    await part.readMessages(targets);
  } catch (error) {
    if (!(error instanceof Enough)) throw error;
  }
  const paths = new Set<string>();
  const found = messages.map((message) => {
    const numbers = new Map<string, number>();
    collect(message, "", numbers);
    for (const path of numbers.keys()) paths.add(path);
    return numbers;
  });
  const leaves = [...paths].slice(0, mostLeaves).map((path) => ({
    path,
    values: found.map((numbers) => numbers.get(path) ?? Number.NaN),
  }));
  return { topic, type: first.type, leaves };
}

function readerOf(part: LogPart, connection: LogConnection): WholeMessages["read"] {
  const { type, encoding } = connection;
  const refuse = (message: string, hint: string): never => {
    throw new LogError("log-unreadable", message, { place: part.path, hint });
  };
  if (encoding !== "ros1" && encoding !== "cdr")
    return refuse(
      `found ${type} in the encoding ${encoding}, expected cdr or ros1`,
      "record the topic as ROS messages",
    );
  const definitions = definitionsOf(connection);
  if (definitions === "none")
    return refuse(
      `found no definition of ${type} in the log, expected one`,
      "name the folder of its package: --definitions msgs/",
    );
  try {
    if (definitions !== "unreadable") return wholeMessages(connection, definitions, new Wire(encoding)).read;
  } catch {
    // a part of the type is not defined
  }
  return refuse(
    `found a definition of ${type} that cannot be read, expected ROS message text`,
    "record the topic again with the tool that publishes it",
  );
}

/** Numbers, true and false, times and durations; texts have no number. */
function collect(value: unknown, path: string, into: Map<string, number>): void {
  if (value === null || value === undefined || typeof value === "string") return;
  const number = numberOf(value);
  if (typeof value !== "object" || ("sec" in value && "nsec" in value)) {
    into.set(path, number);
    return;
  }
  if (Array.isArray(value) || ArrayBuffer.isView(value)) {
    const elements = Array.from(value as ArrayLike<unknown>).slice(0, firstElements);
    for (const [k, each] of elements.entries()) collect(each, `${path}[${k}]`, into);
    return;
  }
  for (const [key, each] of Object.entries(value)) collect(each, path === "" ? key : `${path}.${key}`, into);
}
