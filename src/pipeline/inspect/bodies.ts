import type { PointTrack, SignalName } from "../../foundation/tracks.ts";
import { median } from "../../numeric/descriptive.ts";
import { armWords, type Candidate, captureWords, commandWords, estimateWords } from "../../report/draft/candidates.ts";
import type { GyroAgreement } from "./gyroAgreement.ts";
import { inLength, type LengthShown, metresOf, type Stream } from "./streams.ts";
import { flownWithin, relationOf, type Traits, traitsOf } from "./traits.ts";

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

/** A setpoint nearer to the origin than this, metres, lies near a body in any unit. */
const leastReach = 0.5;
/** By this share of its distance from the origin a vehicle misses its setpoint at most, and by how many times less in its unit than in others. */
const [missed, clearly] = [0.15, 3];

/**
 * Streams with the bodies of a capture that counts in another unit than metres brought to metres: the unit in which some body flies
 * a setpoint, where none does in metres. Capture and setpoint need not come from one program, and only one of them says its unit by
 * where it flies.
 */
export function withLengths(streams: readonly Stream[]): readonly Stream[] {
  const points = streams.filter(({ point }) => point !== null);
  const isBody = (stream: Stream): boolean =>
    !isCommand(stream, traitsOf(stream.point!)) && !isEstimate(stream.candidate);
  const bodies = points.filter(isBody);
  const open = bodies.filter(
    ({ candidate, length }) =>
      length?.unit === null ||
      (length === undefined &&
        candidate.request.units?.position === undefined &&
        candidate.type !== "markers" &&
        !candidate.down),
  );
  const commands = points.filter((stream) => !bodies.includes(stream) && stream.length === undefined);
  const pairs = bodies.flatMap((body) =>
    commands.map((command) => relationOf(body.point!, command.point!)?.distance ?? Infinity),
  );
  if (open.length === 0 || pairs.some((distance) => distance <= flownWithin)) return streams;
  const found = open.flatMap((body) => commands.flatMap((command) => unitBeside(body, command) ?? []));
  const units = new Set(found);
  if (units.size !== 1) return streams;
  const [unit] = units;
  const shown: LengthShown = {
    unit: unit!,
    metres: metresOf[unit!]!,
    words: `${unit} by its distance from the setpoint`,
  };
  return streams.map((stream) => (open.includes(stream) ? inUnit(stream, shown) : stream));
}

function inUnit(stream: Stream, shown: LengthShown): Stream {
  const scale = { ...shown, metres: shown.metres / (stream.length?.metres ?? 1) };
  const { pose, poseInDegrees } = stream;
  return {
    ...stream,
    point: inLength(stream.point!, scale),
    pose: pose === null ? null : { ...pose, ...inLength(pose, scale) },
    ...(poseInDegrees === undefined ? {} : { poseInDegrees: { ...poseInDegrees, ...inLength(poseInDegrees, scale) } }),
    length: shown,
  };
}

/** The one unit in which a body flies a setpoint; null where none does, or more than one. */
function unitBeside(body: Stream, command: Stream): string | null {
  const logged = inLength(body.point!, { unit: null, metres: 1 / (body.length?.metres ?? 1), words: "" });
  const { x, y, z } = command.point!;
  const reach = median(x.map((value, i) => Math.hypot(value, y[i]!, z[i]!)));
  if (reach < leastReach) return null;
  const misses = Object.entries(metresOf)
    .map(([unit, metres]) => ({
      unit,
      miss: relationOf(inLength(logged, { unit, metres, words: "" }), command.point!)?.distance ?? Infinity,
    }))
    .sort((a, b) => a.miss - b.miss);
  const [best, second] = misses;
  return best!.miss <= missed * reach && clearly * best!.miss <= second!.miss ? best!.unit : null;
}
