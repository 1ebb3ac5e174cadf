import type { Vector3 } from "../foundation/units.ts";

/** How many of a unit make a metre, and its name: what lengths are mistaken for. International foot and inch: 0.3048 m, 0.0254 m. */
const units = [
  [1000, "millimetres"],
  [100, "centimetres"],
  [1 / 0.0254, "inches"],
  [1 / 0.3048, "feet"],
] as const;

/** Shorter vectors than this show no ratio, metres; a ratio must hold to this share. */
const shortest = 0.03;
const share = 0.1;

/**
 * Whether one place is the other in another unit of length: as far in the same direction but for a known ratio.
 *
 * @param measured  where the body stands on average, metres as declared
 * @param asked     where it was told to be
 * @returns what to say of it, such as "measured positions are 39.4 times the commanded ones: inches taken for metres?"
 */
export function unitCause(measured: Vector3, asked: Vector3): string | null {
  const [m, a] = [Math.hypot(...measured), Math.hypot(...asked)];
  if (Math.min(m, a) < shortest) return null;
  const dot = measured[0] * asked[0] + measured[1] * asked[1] + measured[2] * asked[2];
  if (dot < Math.cos(share) * m * a) return null;
  for (const [ratio, name] of units) {
    if (Math.abs(m / a / ratio - 1) < share)
      return `measured positions are ${(m / a).toPrecision(3)} times the commanded ones: ${name} taken for metres in the capture?`;
    if (Math.abs(a / m / ratio - 1) < share)
      return `commanded positions are ${(a / m).toPrecision(3)} times the measured ones: ${name} taken for metres in the command?`;
  }
  return null;
}
