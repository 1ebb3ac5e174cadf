import { parse } from "@foxglove/rosmsg";
import { LogError } from "../../foundation/errors.ts";
import { nearestNames } from "../../foundation/nearest.ts";
import type { TopicLeaves } from "../LogReader.ts";
import { messageReaderOf, numberOf } from "./fieldsDecoder.ts";
import type { LogConnection, LogPart, MessageTarget } from "./LogPart.ts";
import { Wire } from "./Wire.ts";

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
      try {
        messages.push(read(new Uint8Array(view.buffer, view.byteOffset + at, end - at)));
      } catch {
        // one that is cut short shows nothing
      }
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

function readerOf(part: LogPart, { type, definition, definitionFormat, encoding }: LogConnection) {
  if (encoding !== "ros1" && encoding !== "cdr")
    throw new LogError("log-unreadable", `found ${type} in the encoding ${encoding}, expected cdr or ros1`, {
      place: part.path,
      hint: "record the topic as ROS messages",
    });
  if (definitionFormat !== "msg" || definition.trim() === "")
    throw new LogError("log-unreadable", `found no definition of ${type} in the log, expected one`, {
      place: part.path,
      hint: "name the folder of its package: --definitions msgs/",
    });
  try {
    return messageReaderOf(parse(definition, { ros2: encoding === "cdr" }), new Wire(encoding));
  } catch (cause) {
    throw new LogError(
      "log-unreadable",
      `found a definition of ${type} that cannot be read, expected ROS message text`,
      {
        place: part.path,
        hint: "record the topic again with the tool that publishes it",
        cause,
      },
    );
  }
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
