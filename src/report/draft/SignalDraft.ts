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
  /** signals of one log with equal values share a clock; null where its times do not tell */
  readonly clock: string | null;
  /** messages a second; null where its times do not tell */
  readonly rate: number | null;
}
