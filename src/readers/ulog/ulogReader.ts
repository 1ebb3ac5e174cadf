import { logFormats } from "../../catalogue/logFormats.ts";
import { LogError } from "../../foundation/errors.ts";
import { nearestNames } from "../../foundation/nearest.ts";
import type { LogSurvey, TopicSurvey } from "../../foundation/recording.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import { signalsOfTopic } from "../autopilot/topicSignals.ts";
import type { LogReader, TopicLeaves, TopicStamps } from "../LogReader.ts";
import type { SignalTable } from "../messages/SignalTable.ts";
import { timeRange } from "../messages/timeRange.ts";
import { readerOfType } from "./formats.ts";
import { readUlog } from "./readUlog.ts";
import { topicTable } from "./topicTable.ts";
import { headerOf, walkUlog } from "./walkUlog.ts";

/** Reads ULogs of the PX4 autopilot, versions 0 and 1. Times count from boot. */
export const ulogReader: LogReader = {
  read: readUlog,
  survey: async (path) => surveyUlog(path),
  // what is damaged the survey tells, which reads the log through
  stamps: async (path, topics) => ({ topics: stampsOfUlog(path, topics), damage: [] }),
  leaves: async (path, topic) => leavesOfUlog(path, topic),
};

/**
 * What is in a ULog: topics with counts and times, parameters, dropouts.
 *
 * @throws LogError  code `log-unreadable`: see `walkUlog`
 */
function surveyUlog(path: string): LogSurvey {
  const found = new Map<string, { format: string; messages: number; first: number; last: number }>();
  const micros = readerOfType("uint64_t");
  const facts = walkUlog(path, {
    onSubscription: ({ topic, format }, formats) => {
      const entry = found.get(topic) ?? { format, messages: 0, first: Number.POSITIVE_INFINITY, last: 0 };
      found.set(topic, entry);
      const time = formats.leaf(format, "timestamp");
      return (view, at) => {
        entry.messages++;
        if (time === null) return;
        const stamp = micros(view, at + time.offset);
        if (stamp < entry.first) entry.first = stamp;
        if (stamp > entry.last) entry.last = stamp;
      };
    },
  });
  // on subscribing the last value is written, however old: it was received when the log began
  const received = (micros: number): Nanoseconds => BigInt(Math.max(micros, facts.start)) * 1000n;
  const topics = [...found]
    .map(([topic, { format, messages, first, last }]): TopicSurvey => {
      const couldBe = signalsOfTopic(format);
      const timed = messages > 0 && Number.isFinite(first);
      return {
        topic,
        type: format,
        messages,
        start: timed ? received(first) : null,
        end: timed ? received(last) : null,
        couldBe,
        known: couldBe.length > 0,
        children: [],
      };
    })
    .sort((a, b) => (a.topic < b.topic ? -1 : 1));
  return {
    file: path,
    format: logFormats.ulog.name,
    bytes: facts.bytes,
    compression: [],
    start: BigInt(facts.start) * 1000n,
    end: timeRange(topics).end,
    messages: topics.reduce((sum, { messages }) => sum + messages, 0),
    topics,
    recovered: facts.notes.length === 0 ? null : facts.notes.join("; "),
    parameters: facts.parameters,
    ...(facts.dropouts.count > 0 ? { dropouts: facts.dropouts } : {}),
  };
}

/** Times of the messages of some topics, in one pass; see `LogReader`. */
function stampsOfUlog(path: string, topics: readonly string[]): ReadonlyMap<string, TopicStamps> {
  const tables = new Map<string, { type: string; table: SignalTable }>();
  const wanted = new Set(topics);
  const { start } = headerOf(path);
  walkUlog(path, {
    onSubscription: ({ topic, format }, formats) => {
      if (!wanted.has(topic)) return null;
      const into = tables.get(topic)?.table ?? null;
      const found = topicTable(formats, format, { paths: {}, masked: false, unknown: {} }, { start, span: null, into });
      if (found === null) return null;
      tables.set(topic, { type: format, table: found.table });
      return found.target;
    },
  });
  return new Map(
    [...tables].map(([topic, { type, table }]) => {
      const { received, stamped, zeroStamps } = table.finish(BigInt(start) * 1000n);
      return [topic, { topic, type, received, stamped, zeroStamps }];
    }),
  );
}

/** As many messages are looked at, and as many elements of an array, as a person wants to see. */
const [firstMessages, mostLeaves, firstElements] = [3, 500, 24];

/**
 * The numbers of a topic's first messages, by their paths.
 *
 * @throws LogError  code `log-unreadable`: see `walkUlog`; there is no such topic
 */
function leavesOfUlog(path: string, topic: string): TopicLeaves {
  const topics = new Set<string>();
  const wanted = topic.replace(/^\//, "");
  let type = "";
  let rows = 0;
  const leaves: { path: string; values: number[] }[] = [];
  walkUlog(path, {
    onSubscription: ({ topic: name, format }, formats) => {
      topics.add(name);
      if (name !== wanted || type !== "") return null;
      type = format;
      const readers = formats.paths(format, mostLeaves, firstElements).map((each) => {
        const leaf = formats.leaf(format, each)!;
        const values: number[] = [];
        leaves.push({ path: each, values });
        return { leaf, values, read: readerOfType(leaf.type) };
      });
      return (view, at) => {
        if (rows++ >= firstMessages) return;
        for (const { leaf, values, read } of readers) values.push(read(view, at + leaf.offset));
      };
    },
  });
  if (type === "") {
    const near = nearestNames(topic, [...topics], 12);
    throw new LogError("log-unreadable", `found no topic ${topic}, expected one of ${near.join(", ") || "none"}`, {
      place: path,
      hint: near[0] === undefined ? "the log holds no topics" : `did you mean ${near[0]}?`,
    });
  }
  return { topic: wanted, type, leaves };
}
