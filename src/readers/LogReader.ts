import { readdir } from "node:fs/promises";
import { join } from "node:path";
import type { LogSurvey, Recording, SignalRequest, StampColumn } from "../foundation/recording.ts";

/** When the messages of one topic were received and what their own headers say; rows in order of receipt. */
export interface TopicStamps {
  readonly topic: string;
  readonly type: string;
  readonly received: StampColumn;
  /** null where the type carries no header */
  readonly stamped: StampColumn | null;
  /** when the messages were published, where the log keeps that beside their receipt */
  readonly published?: StampColumn;
  readonly zeroStamps: number;
}

/** Times of the messages of several topics. */
export interface LogStamps {
  /** by topic; topics that the log does not have are left out */
  readonly topics: ReadonlyMap<string, TopicStamps>;
  /** what could not be read on the way, in words */
  readonly damage: readonly string[];
}

/** The numbers of one topic's messages, by the paths that `fields` of a manifest name them by. */
export interface TopicLeaves {
  readonly topic: string;
  readonly type: string;
  /** those of the first messages, one a message; NaN where a message does not have it */
  readonly leaves: readonly { readonly path: string; readonly values: readonly number[] }[];
}

export interface SurveyOptions {
  /** folders of .msg files, for logs that hold no definitions of their types */
  readonly definitions?: readonly string[] | undefined;
}

export interface ReadOptions extends SurveyOptions {
  /** seconds after the log's first receipt time: only what was received in [start, end) is kept */
  readonly span?: readonly [number, number] | null | undefined;
}

/** What is known of a log format. All throw a LogError (code `log-unreadable`) where a log cannot be read. */
export interface LogReader {
  /**
   * The requested signals of one log, or of the parts of one that its recorder split; nothing else is decoded. A request
   * that the log cannot serve is among the recording's `missing`, with words that say what there is instead.
   */
  read(paths: readonly string[], requests: readonly SignalRequest[], options: ReadOptions): Promise<Recording>;
  /** what is in one log: topics or columns, types, counts, times */
  survey(path: string, options?: SurveyOptions): Promise<LogSurvey>;
  /** times of the messages of several topics, in one pass */
  stamps(path: string, topics: readonly string[], options?: SurveyOptions): Promise<LogStamps>;
  /** the numbers of one topic, whatever its type; not there for tables and point files, which have columns and markers */
  leaves?(path: string, topic: string, options?: SurveyOptions): Promise<TopicLeaves>;
}

/**
 * The files that a log is made of: the path itself, or where it is a folder the files in it, in the order of their names.
 * Hidden files and folders within are left out.
 */
export async function filesOfLog(path: string): Promise<readonly string[]> {
  try {
    const entries = await readdir(path, { withFileTypes: true });
    const files = entries.filter((entry) => entry.isFile() && !entry.name.startsWith("."));
    return files.map(({ name }) => join(path, name)).sort();
  } catch {
    // no folder, or none that may be read: opening it says what is wrong
    return [path];
  }
}
