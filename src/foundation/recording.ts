import type { Check } from "./checks.ts";
import type { SignalName } from "./tracks.ts";
import type { Nanoseconds, Vector3 } from "./units.ts";

/**
 * One column of stamps: instant i is `epoch` + `seconds[i]`.
 * The epoch is subtracted in integers before the conversion to double, so no precision is lost.
 */
export interface StampColumn {
  readonly epoch: Nanoseconds;
  /** seconds after `epoch`; NaN where the message carried a zero stamp */
  readonly seconds: Float64Array;
}

/** What a reader is asked for: one signal of the manifest. Exactly one of topic, `columns` and `markers` says where it is. */
export interface SignalRequest {
  readonly signal: SignalName;
  /** "" where the log is not one of messages */
  readonly topic: string;
  /** child_frame_id wanted from a transform tree */
  readonly child?: string;
  /** name or number of the body wanted from messages that hold several */
  readonly body?: string;
  /** joint wanted from a joint-state message */
  readonly joint?: string;
  /** column -> path in the message, for message types no reader knows by heart */
  readonly fields?: Readonly<Record<string, string>>;
  /** role -> name of the column of a table; `t` is the time */
  readonly columns?: Readonly<Record<string, string>>;
  /** units as the manifest declares them, by column or by group (t, position, angle, rate ...) */
  readonly units?: Readonly<Record<string, string>>;
  /** label -> place in the body's marker frame, metres: the markers of a point file that make up one body */
  readonly markers?: Readonly<Record<string, Vector3>>;
}

/** How well a body's markers fit the places declared for them. */
export interface MarkerFit {
  readonly markers: readonly string[];
  /** frames of the file, and those with at least three measured markers */
  readonly frames: number;
  readonly solved: number;
  /** readings without a measurement, and readings that were modelled (filled in) instead of measured: both left out */
  readonly missing: number;
  readonly modelled: number;
  /** root mean square over all solved frames and their markers, metres, divided by what is left after the fit (3 m - 6) */
  readonly residual: number;
}

/** The same of each row of a pose that three markers or more gave. */
export interface FrameFits {
  /** root mean square over the markers of that frame, metres, divided as `residual` is */
  readonly misfit: Float64Array;
  /** which of `sets` was measured in that frame, and gave the pose */
  readonly set: Uint32Array;
  /** markers by their place in `markers` of the fit */
  readonly sets: readonly (readonly number[])[];
  /**
   * noise of a marker's coordinate by the differences of successive frames, median, metres: places that are declared wrongly
   * hardly enter, nor do labels exchanged for a while; null where no two frames rest on the same markers
   */
  readonly noise: number | null;
}

/**
 * One signal as logged, in the order of the log (not sorted, nothing dropped).
 *
 * Columns by role of the signal (units as in the log; SI for ROS messages):
 *   poses, setpoints, commands, estimates: x y z [qx qy qz qw] [yaw]
 *   arm_phase: value (of any unit)
 *   vehicle_rate: wx wy wz (rad/s, body frame)
 *   battery: voltage [current] [percentage] [cells]
 *   motors: m0 m1 ...
 *   arm_effort: value (of any unit)
 */
export interface RecordedSignal {
  readonly signal: SignalName;
  readonly topic: string;
  readonly type: string;
  /** frame_id of the first message that had one, else "" */
  readonly frameId: string;
  /** when the recorder received the message */
  readonly received: StampColumn;
  /** the message's own header stamp; null where the type carries none */
  readonly stamped: StampColumn | null;
  /** when it was published, where the log keeps that beside its receipt (MCAP) */
  readonly published?: StampColumn;
  /** messages whose header stamp was zero */
  readonly zeroStamps: number;
  readonly columns: Readonly<Record<string, Float64Array>>;
  /** only for columns the message type can mask (position target): 1 = given, 0 = to be ignored */
  readonly given: Readonly<Record<string, Uint8Array>>;
  /** the format says its own units and the columns are SI already, whatever the manifest declares */
  readonly si?: true;
  /** of a table: units as its heading writes them, by column; null where it does not */
  readonly units?: Readonly<Record<string, string | null>>;
  /** what was taken for granted or decided on the way, in words */
  readonly notes?: readonly string[];
  readonly fit?: MarkerFit;
  readonly fits?: FrameFits;
}

/** Why a requested signal is not in the recording. */
export interface MissingSignal {
  readonly signal: SignalName;
  readonly topic: string;
  /** `absent`: no such topic; `empty`: no message; `wrong-type`: a type that cannot give this signal; `child`: no such transform or joint */
  readonly reason: "absent" | "empty" | "wrong-type" | "child";
  readonly message: string;
  readonly hint: string;
}

/** Bytes in, named columns out: one log, or the parts of one split log, joined. */
export interface Recording {
  readonly files: readonly string[];
  readonly format: string;
  readonly signals: ReadonlyMap<SignalName, RecordedSignal>;
  readonly missing: readonly MissingSignal[];
  /** first and last receipt time over the whole log; null where it holds no message */
  readonly start: Nanoseconds | null;
  readonly end: Nanoseconds | null;
  /** what was lost and how the rest was recovered, where the log was damaged; else null */
  readonly recovered: string | null;
  /** what a sound log leaves open, or contradicts itself in; messages without the log's name */
  readonly checks?: readonly Check[];
  /** settings of the autopilot at the start, by name; absent where the format keeps none */
  readonly parameters?: ReadonlyMap<string, number>;
  /** times the logger could not keep up, and seconds lost to it; absent where it always could or does not say */
  readonly dropouts?: { readonly count: number; readonly seconds: number };
}

/** One topic as `inspect` shows it. */
export interface TopicSurvey {
  readonly topic: string;
  readonly type: string;
  readonly messages: number;
  /** first and last receipt time */
  readonly start: Nanoseconds | null;
  readonly end: Nanoseconds | null;
  /** signals this topic could serve as, best guess first; empty where none */
  readonly couldBe: readonly SignalName[];
  /** whether `read` knows the type by heart */
  readonly known: boolean;
  /** child frames seen, for transform trees */
  readonly children: readonly string[];
  /** bodies seen, for messages that hold several; absent for others */
  readonly bodies?: readonly string[];
}

/** One column of a table as `inspect` shows it. */
export interface ColumnSurvey {
  readonly name: string;
  /** as the heading writes it, such as "[mm]"; null where it does not */
  readonly unit: string | null;
  /** cells that hold a number (or an instant), that are blank, and that hold something else */
  readonly numbers: number;
  readonly blank: number;
  readonly texts: number;
  readonly lowest: number | null;
  readonly highest: number | null;
}

/** A signal that some columns of a table could give. */
export interface ColumnProposal {
  readonly signal: SignalName;
  /** role -> name of the column */
  readonly columns: Readonly<Record<string, string>>;
  /** as a manifest declares them; only what the headings say or the values show */
  readonly units: Readonly<Record<string, string>>;
  /** what only a person can tell */
  readonly remark?: string;
}

/** A table as `inspect` shows it. */
export interface TableSurvey {
  /** in words: "comma", "tab", "blanks" ... */
  readonly separator: string;
  readonly decimal: "point" | "comma";
  /** lines before the heading, and lines of the heading */
  readonly preamble: number;
  readonly headingLines: number;
  readonly rows: number;
  readonly columns: readonly ColumnSurvey[];
  readonly proposals: readonly ColumnProposal[];
}

/** One marker of a point file as `inspect` shows it. */
export interface MarkerSurvey {
  readonly label: string;
  /** frames in which it was measured, modelled (filled in), and missing */
  readonly measured: number;
  readonly modelled: number;
  readonly missing: number;
}

/** Markers that keep their distances over the log, as a manifest would declare them. */
export interface BodyProposal {
  /** label -> mean place about the markers' centre, metres */
  readonly markers: Readonly<Record<string, Vector3>>;
  /** by how much their distances vary, root mean square, metres */
  readonly residual: number;
}

/** A point file as `inspect` shows it. */
export interface PointSurvey {
  /** as the file writes it, such as "mm" */
  readonly unit: string;
  /** frames per second */
  readonly rate: number;
  readonly markers: readonly MarkerSurvey[];
  readonly bodies: readonly BodyProposal[];
  /** what has to be known before the points are used, in words */
  readonly notes: readonly string[];
}

/** A whole log as `inspect` shows it. */
export interface LogSurvey {
  readonly file: string;
  readonly format: string;
  readonly bytes: number;
  readonly compression: readonly string[];
  readonly start: Nanoseconds | null;
  readonly end: Nanoseconds | null;
  readonly messages: number;
  readonly topics: readonly TopicSurvey[];
  readonly recovered: string | null;
  readonly table?: TableSurvey;
  readonly points?: PointSurvey;
  /** settings of the autopilot at the start, by name */
  readonly parameters?: ReadonlyMap<string, number>;
  /** times the logger could not keep up, and seconds lost to it; absent where it always could or does not say */
  readonly dropouts?: { readonly count: number; readonly seconds: number };
}
