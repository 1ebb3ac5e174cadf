import { median } from "../../numeric/descriptive.ts";
import { isCommand, isEstimate } from "./bodies.ts";
import { inLength, type LengthShown, metresOf, type Stream } from "./streams.ts";
import { flownWithin, relationOf, traitsOf } from "./traits.ts";

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
