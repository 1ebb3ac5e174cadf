import type { Span } from "../../contract/campaign.ts";
import type { CommandShape } from "../../contract/inspection.ts";
import type { SignalName } from "../../foundation/tracks.ts";

/** A line of a manifest's `signals`, in the making. */
export interface SignalDraft {
  readonly signal: SignalName;
  /** where it stands in its log, whatever was found out of it: logs that have it there are of one kind */
  readonly place: string;
  /** what goes between the braces, without clock and log */
  readonly parts: readonly string[];
  /** logged north, east, down, or forward, right, down: which of them is asked once */
  readonly down: boolean;
  /** what a person should know beside it */
  readonly remarks: readonly string[];
  /** where the arm's command seems to count from, in the vehicle's frame */
  readonly armBase?: string;
  /** signals of one log with equal values share a clock; null where its times do not tell */
  readonly clock: string | null;
  /** messages a second; null where its times do not tell */
  readonly rate: number | null;
}

/** One kind of log that a run has: its name under `logs`, and the signals it seems to hold. */
export interface LogDraft {
  /** null where a run has one log */
  readonly name: string | null;
  /** its signals are columns, not topics */
  readonly isTable: boolean;
  /** its signals are markers: a point file has no topics either */
  readonly isPoints: boolean;
  readonly signals: readonly SignalDraft[];
  /** topics of types that are not known by heart */
  readonly unknown: readonly { readonly topic: string; readonly type: string }[];
}

/** What some runs were asked for, and which. */
export interface TrajectoryDraft {
  readonly name: string;
  /** null: no command tells */
  readonly shape: CommandShape | null;
  readonly runs: readonly number[];
}

/** A run: its logs by name (null: the only one), and how it seems to be filed. */
export interface RunDraft {
  readonly logs: readonly { readonly name: string | null; readonly path: string }[];
  /** null: called by its log */
  readonly id: string | null;
  readonly span: Span | null;
  /** null: only a person knows */
  readonly configuration: string | null;
  readonly trajectory: string;
  readonly block: string | null;
  /** the pack, by its name */
  readonly battery: string | null;
  /** ISO 8601 */
  readonly started: string | null;
  /** what a person should know beside it */
  readonly remark: string | null;
}

/** A campaign as far as its logs tell. */
export interface CampaignSketch {
  readonly title: string;
  /** folders of .msg files that the logs need */
  readonly definitions: readonly string[];
  readonly logs: readonly LogDraft[];
  /** null: nothing in the names tells which run flew how; the baseline null: nor which of them it is */
  readonly configurations: { readonly names: readonly string[]; readonly baseline: string | null } | null;
  readonly trajectories: readonly TrajectoryDraft[];
  readonly runs: readonly RunDraft[];
  /** the table beside the logs that lists the runs, from the manifest on; null: they are listed in the manifest */
  readonly table: string | null;
  /** logs that are no runs, and why */
  readonly left: readonly { readonly path: string; readonly why: string }[];
  /** paths of logs in which nothing moves */
  readonly statics: readonly string[];
  /** what shows which logs make up a run, where a run has several; null: nothing does */
  readonly pairedBy: string | null;
  /** which axis of the capture points up, as take-offs show it; null: they do not */
  readonly up: "z" | "y" | "down" | null;
  /** what shows the capture's clock where all signals seem to share one; null: nothing does */
  readonly sight: "vehicle_rate" | "vehicle_estimate" | null;
  /** in no log does the gyro turn as the capture's vehicle does, and in some it was seen to turn otherwise */
  readonly gyroApart: boolean;
}
