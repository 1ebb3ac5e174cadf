import type { SignalName } from "./signals.ts";
import type { Nanoseconds } from "./units.ts";

/**
 * One column of stamps: instant i is `epoch` + `seconds[i]`.
 * The epoch is subtracted in integers before the conversion to double, so no precision is lost.
 */
export interface StampColumn {
  readonly epoch: Nanoseconds;
  /** seconds after `epoch`; NaN where the message carried a zero stamp */
  readonly seconds: Float64Array;
}

/** What a reader is asked for: one signal of the manifest. */
export interface SignalRequest {
  readonly signal: SignalName;
  readonly topic: string;
  /** child_frame_id wanted from a transform tree */
  readonly child?: string;
  /** joint wanted from a joint-state message */
  readonly joint?: string;
  /** column -> path in the message, for message types no reader knows by heart */
  readonly fields?: Readonly<Record<string, string>>;
}

/**
 * One signal as logged, in the order of the log (not sorted, nothing dropped).
 *
 * Columns by role of the signal (units as in the log; SI for ROS messages):
 *   poses, setpoints, commands, estimates: x y z [qx qy qz qw] [yaw]
 *   vehicle_rate: wx wy wz (rad/s, body frame)
 *   battery: voltage [current] [percentage] [cells]
 *   motors: m0 m1 ...
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
  /** messages whose header stamp was zero */
  readonly zeroStamps: number;
  readonly columns: Readonly<Record<string, Float64Array>>;
  /** only for columns the message type can mask (position target): 1 = given, 0 = to be ignored */
  readonly given: Readonly<Record<string, Uint8Array>>;
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
}
