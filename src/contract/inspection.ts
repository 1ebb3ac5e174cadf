import type { PointSurvey, TableSurvey } from "../foundation/recording.ts";
import type { SignalName, Subject } from "../foundation/tracks.ts";
import type { Metres, Seconds } from "../foundation/units.ts";
import type { Trajectory } from "./campaign.ts";

/** What `inspect --json` prints: SI, instants as decimal text of nanoseconds. What is not known is null. */
export interface LogInspection {
  readonly schema: 1;
  readonly file: string;
  readonly format: string;
  readonly bytes: number;
  readonly compression: readonly string[];
  /** first and last receipt */
  readonly start: string | null;
  readonly end: string | null;
  /** seconds from first to last receipt */
  readonly duration: number | null;
  readonly messages: number;
  /** what was lost and how the rest was recovered; null for a sound log */
  readonly recovered: string | null;
  /** times the logger could not keep up, and seconds lost to it; null where it always could or does not say */
  readonly dropouts: { readonly count: number; readonly seconds: number } | null;
  readonly topics: readonly TopicInspection[];
  /** columns of a table, and the signals they could give; null where the log is none */
  readonly table: TableSurvey | null;
  /** markers of a point file, and the bodies they could be; null where the log is none */
  readonly points: PointSurvey | null;
  /** settings of the autopilot at the start; null where the format keeps none */
  readonly parameters: number | null;
  readonly clocks: readonly ClockGuess[];
  readonly summary: DraftSummary;
  /** a manifest to start from, with places to fill in between < and > */
  readonly manifest: string;
}

export interface TopicInspection {
  readonly topic: string;
  readonly type: string;
  readonly messages: number;
  /** signals it could serve as, best guess first */
  readonly could_be: readonly SignalName[];
  /** whether the type is known by heart; others can serve through `fields` */
  readonly known: boolean;
  /** child frames, for transform trees */
  readonly children: readonly string[];
  /** bodies, for messages that hold several; absent for others */
  readonly bodies?: readonly string[];
  readonly timing: TopicTiming | null;
  readonly stamps: StampFigures | null;
  /** receipt minus publication, median, seconds; null where the log keeps receipt alone */
  readonly published_before: number | null;
  /** name of its entry in `clocks`; null where its times do not tell */
  readonly clock: string | null;
}

/** Rate and gaps of one topic. */
export interface TopicTiming {
  /** whose times these are: header stamps where all messages have one, else receipt */
  readonly by: "header" | "receipt";
  /** median interval, seconds; null where fewer than two different times */
  readonly median_interval: number | null;
  /** 5th and 95th percentile of the interval, seconds (type 7) */
  readonly interval_p5: number | null;
  readonly interval_p95: number | null;
  /** intervals longer than `gap_over` seconds, and the longest of them with its start, seconds after the log's first receipt */
  readonly gap_over: number | null;
  readonly gaps: number;
  readonly longest_gap: number | null;
  readonly longest_gap_at: number | null;
}

/** Header stamps of one topic against its receipt. */
export interface StampFigures {
  readonly zero: number;
  /** stamps earlier than the one before, and equal to it */
  readonly backward: number;
  readonly duplicate: number;
  /** `date`: Unix time; `since start`: counted from some start, such as boot; null where all are zero */
  readonly epoch: "date" | "since start" | null;
  /** receipt minus stamp, seconds: median, and 95th minus 5th percentile */
  readonly delay_median: number | null;
  readonly delay_spread: number | null;
  /** by how much the delay grows from the first tenth of the messages to the last, seconds */
  readonly delay_growth: number | null;
}

/** Topics that seem to be stamped by one clock. */
export interface ClockGuess {
  readonly name: string;
  readonly topics: readonly string[];
  readonly epoch: "date" | "since start";
  /** receipt minus stamp, seconds: median over its topics; 0 for the recorder's own clock */
  readonly delay_median: number;
  /** whether these are receipt times, for want of stamps */
  readonly by: "header" | "receipt" | "both";
}

/** What `inspect --json` prints for a folder of logs. */
export interface FolderInspection {
  readonly schema: 1;
  readonly folder: string;
  /** in the order of their names; a ROS 2 bag is one log */
  readonly logs: readonly FolderLog[];
  /** files that are no logs */
  readonly others: number;
  /** what was not looked into, and why */
  readonly skipped: readonly { readonly path: string; readonly why: string }[];
  readonly summary: DraftSummary;
  /** a manifest to start from, with places to fill in between < and > */
  readonly manifest: string;
}

/** What logs are, what could be judged by them, and what is missing for it. */
export interface DraftSummary {
  readonly runs: number;
  readonly statics: number;
  /** null where no log says when it was flown */
  readonly days: number | null;
  readonly trajectories: readonly {
    readonly name: string;
    readonly shape: CommandShape | null;
    readonly runs: number;
  }[];
  /** as names tell them apart; null where they do not */
  readonly configurations: readonly string[] | null;
  /** `origin` null: to be asked for */
  readonly signals: readonly {
    readonly signal: SignalName;
    readonly origin: string | null;
    readonly rate: number | null;
  }[];
  /** what could be judged; empty: nothing */
  readonly subjects: readonly Subject[];
  /** what is missing, in sentences */
  readonly lacking: readonly string[];
  /** what the manifest asks for: its places in their order, each once */
  readonly asks: readonly string[];
  /** runs that have something of their own */
  readonly remarks: readonly { readonly path: string; readonly words: string }[];
  /** logs that are no runs, and why */
  readonly left: readonly { readonly path: string; readonly why: string }[];
}

/** One log of a folder. */
export interface FolderLog {
  /** from the folder on */
  readonly path: string;
  readonly bytes: number;
  /** null where it cannot be read: then `error` says why */
  readonly format: string | null;
  readonly error: string | null;
  readonly start: string | null;
  readonly duration: number | null;
  readonly messages: number;
  readonly recovered: string | null;
  readonly dropouts: { readonly count: number; readonly seconds: number } | null;
  /** what it seems to hold, and how often a second */
  readonly signals: readonly { readonly signal: SignalName; readonly origin: string; readonly rate: number | null }[];
  /** the log that holds the same flight */
  readonly same_as: string | null;
  /**
   * by what it is the same: its bytes; its messages, in another compression or container; or as what was recorded until the other was
   * finished. Absent for a log that is no copy
   */
  readonly same_by?: "bytes" | "messages" | "unfinished";
}

/** What a command asks for, in the words of a manifest. */
export type CommandShape =
  | Omit<Extract<Trajectory, { shape: "circle" }>, "speed">
  | Extract<Trajectory, { shape: "line" | "hold" }>
  /** `reach` per axis and `lasts` tell one such motion from another */
  | {
      readonly shape: "logged";
      readonly period: Seconds | null;
      readonly reach: readonly [Metres, Metres, Metres];
      readonly lasts: Seconds;
    };
