import type { PointTrack, SignalName } from "../../foundation/tracks.ts";
import type { Candidate } from "../../report/draft/candidates.ts";
import { armWords, captureWords, commandWords, estimateWords } from "../../report/draft/nameSpeaks.ts";
import type { GyroAgreement } from "./gyroAgreement.ts";
import type { Stream } from "./streams.ts";
import type { Traits } from "./traits.ts";

/** A command holds for a while without any change; what is measured never does, *common practice, no source*. */
const [heldLeast, repeatedLeast] = [0.8, 0.2];
/** A body turns as the gyro says from this agreement on. */
export const turnsAlike = 0.5;
/** What moves as another does has this much in common with it. */
export const movesAlike = 0.7;
/** Of two places the nearer is another where the other is further by this much, metres. */
export const clearlyNearer = 0.03;

/** Something that moves in a log, and what its motion shows. */
export interface Body {
  readonly stream: Stream;
  readonly point: PointTrack;
  readonly traits: Traits;
  readonly gyro: GyroAgreement | null;
}

/** What a type says, then a name of the trade, then a stretch of rest; a name that says "goal" of what the gyro turns with lies. */
export function isCommand({ candidate }: Stream, { held, repeats, reach }: Traits): boolean {
  const { couldBe, name } = candidate;
  if (!couldBe.some((signal) => signal === "vehicle_setpoint" || signal === "effector_command")) return false;
  if (!couldBe.includes("vehicle_pose")) return true;
  if (commandWords.test(name)) return true;
  // what was never seen stands in one place, too
  if (reach === 0 && captureWords.test(name)) return false;
  return held >= heldLeast && repeats >= repeatedLeast;
}

/** The estimate that the vehicle reckons of itself is no capture, however near the truth it is. */
export function isEstimate({ name, type, down }: Candidate): boolean {
  if (captureWords.test(name)) return false;
  return down || estimateWords.test(name) || /Odometry$/.test(type);
}

/** A vehicle that hovers within millimetres turns as its gyro says all the same. */
export function rests({ traits, gyro }: Body): boolean {
  return traits.rests && (gyro?.share ?? 0) < turnsAlike;
}

export function isArms({ candidate }: Stream): boolean {
  return (
    armWords.test(candidate.name) ||
    (candidate.speaks.effector_command ?? 0) >= 3 ||
    (candidate.speaks.effector_pose ?? 0) >= 3
  );
}

/** Those whose names speak most for a signal first, then those with more messages. */
export function byNames<T extends Stream>(signal: SignalName, streams: readonly T[]): T[] {
  const speaks = ({ candidate }: Stream): number => candidate.speaks[signal] ?? -1;
  return [...streams].sort((a, b) => speaks(b) - speaks(a) || b.candidate.messages - a.candidate.messages);
}

/** The one for which its name speaks more than any other's does; null where none is. */
export function clearOne<T extends Stream>(signal: SignalName, streams: readonly T[]): T | null {
  const [first, second] = byNames(signal, streams);
  const speaks = (stream: T | undefined): number => stream?.candidate.speaks[signal] ?? -1;
  return first !== undefined && speaks(first) > 0 && speaks(first) > speaks(second) ? first : null;
}
