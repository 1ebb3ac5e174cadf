import type { LogSurvey, TopicSurvey } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import type { LogReader, SurveyOptions } from "../LogReader.ts";
import type { LogConnection, LogPart } from "./LogPart.ts";
import { partStamps, readBodies, readChildren } from "./partStamps.ts";
import { readParts } from "./readParts.ts";
import { signalsFor } from "./signalTypes.ts";

/**
 * What is in one file of a log of ROS messages. From its index alone, except the child frames of transform trees, which
 * only the messages know. A topic of two types is listed once for each.
 *
 * @param format  the format's name, for a person
 */
async function surveyPart(part: LogPart, format: string): Promise<LogSurvey> {
  const children = await readChildren(part);
  const bodies = await readBodies(part);
  const groups = new Map<string, LogConnection[]>();
  for (const connection of part.connections.values()) {
    const key = `${connection.topic}\n${shownType(connection)}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [connection]);
    else group.push(connection);
  }
  const topics = [...groups.values()]
    .map((connections) => surveyTopic(part, connections, { children, bodies }))
    .sort((a, b) => (a.topic < b.topic ? -1 : a.topic > b.topic ? 1 : 0));
  return {
    file: part.path,
    format,
    bytes: part.bytes,
    compression: part.compression(),
    start: part.start,
    end: part.end,
    messages: topics.reduce((sum, topic) => sum + topic.messages, 0),
    topics,
    recovered: part.notes.length === 0 ? null : part.notes.join("; "),
  };
}

function surveyTopic(
  part: LogPart,
  connections: readonly LogConnection[],
  inner: Readonly<Record<"children" | "bodies", ReadonlyMap<string, readonly string[]>>>,
): TopicSurvey {
  const { topic, type, encoding } = connections[0]!;
  const shown = shownType(connections[0]!);
  const ids = new Set(connections.map((each) => each.id));
  const found = inner.bodies.get(topic);
  const byType = encoding === "ros1" || encoding === "cdr" ? signalsFor(topic, type) : [];
  const couldBe = byType.length === 0 && found !== undefined ? bodySignals : byType;
  return {
    topic,
    type: shown,
    messages: part.messagesOf(ids),
    ...part.rangeOf(ids),
    couldBe,
    known: couldBe.length > 0,
    children: inner.children.get(topic) ?? [],
    ...(byType.length > 0 || found === undefined ? {} : { bodies: found }),
  };
}

/** What a body of several in one message can serve as. */
const bodySignals: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_estimate"];

/** The type, with the encoding where it is none that can be read. */
function shownType({ type, encoding }: LogConnection): string {
  return encoding === "ros1" || encoding === "cdr" ? type : `${type} (${encoding || "no encoding"})`.trim();
}

/**
 * The reader of a format whose logs hold ROS messages, from what opens one file of it.
 *
 * @param format  the format's name, for a person
 */
export function messageReader(open: (path: string) => Promise<LogPart>, format: string): LogReader {
  const openWith = async (path: string, { definitions = [] }: SurveyOptions): Promise<LogPart> => {
    const part = await open(path);
    if (definitions.length === 0) return part;
    const { withDefinitions } = await import("./definitionFolders.ts");
    try {
      return withDefinitions(part, definitions);
    } catch (error) {
      part.close();
      throw error;
    }
  };
  const opened = async <T>(path: string, options: SurveyOptions, use: (part: LogPart) => Promise<T>): Promise<T> => {
    const part = await openWith(path, options);
    try {
      return await use(part);
    } finally {
      part.close();
    }
  };
  return {
    read: (paths, requests, options) =>
      readParts(paths, requests, { open: (path) => openWith(path, options), format, span: options.span }),
    survey: (path, options = {}) => opened(path, options, (part) => surveyPart(part, format)),
    stamps: (path, topics, options = {}) => opened(path, options, (part) => partStamps(part, topics)),
    leaves: (path, topic, options = {}) =>
      opened(path, options, async (part) => (await import("./partLeaves.ts")).partLeaves(part, topic)),
  };
}
