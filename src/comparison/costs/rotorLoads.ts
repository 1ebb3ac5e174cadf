import type { KilogramSquareMetres, Metres, Newtons, Radians } from "../../foundation/units.ts";

/** Rotors evenly on a circle. */
export interface RotorCircle {
  /** at least 3; a coaxial pair is one place */
  readonly places: number;
  readonly radius: Metres;
  /** of one place, from forward towards left; null: not known, the worst is taken */
  readonly first: Radians | null;
}

/**
 * Thrust of each place in hover where the centre of mass stands beside the circle's centre, by statics:
 *
 *   T_i = W/N + 2/(N L) (Mx sin phi_i - My cos phi_i),   M = (y W, -x W, 0)
 *
 * M is the moment that the rotors must produce about their centre to balance the weight. The arm's own moment is in it by the
 * centre of mass with the arm at its mean posture; what it exerts while moving is not.
 *
 * @param offset  of the centre of mass from the circle's centre: forward, left, metres
 * @returns newtons of a place, that carries most and least; a negative least cannot be flown
 * @source statics: sum of thrusts and of moments, least squares over the places
 */
export function rotorLoads(
  { places, radius, first }: RotorCircle,
  weight: Newtons,
  [x, y]: readonly [Metres, Metres],
): { readonly highest: Newtons; readonly lowest: Newtons } {
  const mean = weight / places;
  const amplitude = (2 * weight) / (places * radius);
  if (first === null) {
    const most = amplitude * Math.hypot(x, y);
    return { highest: mean + most, lowest: mean - most };
  }
  const loads = azimuths(places, first).map((phi) => mean + amplitude * (y * Math.sin(phi) + x * Math.cos(phi)));
  return { highest: Math.max(...loads), lowest: Math.min(...loads) };
}

/**
 * Most angular acceleration from hover about one axis:
 *
 *   alpha = dT L sum |sin phi_i| / J
 *
 * dT the least of what any place can add and what it can take away. About the axis to the left the cosine stands for the sine.
 * Where the first azimuth is not known, the least sum over all of them.
 *
 * @param most     thrust of one place at full output
 * @param loads    of the places in hover
 * @param inertia  about the forward axis and the axis to the left
 * @returns radians a square second; 0 where nothing is left
 * @source rigid-body dynamics
 */
export function attitudeAuthority(
  { places, radius, first }: RotorCircle,
  most: Newtons,
  loads: { readonly highest: Newtons; readonly lowest: Newtons },
  [jx, jy]: readonly [KilogramSquareMetres, KilogramSquareMetres],
): { readonly roll: number; readonly pitch: number } {
  const spare = Math.max(0, Math.min(most - loads.highest, loads.lowest));
  const sum = (part: (angle: Radians) => number, from: Radians): number =>
    azimuths(places, from).reduce((total, phi) => total + Math.abs(part(phi)), 0);
  const [sines, cosines] =
    first === null
      ? [leastSum(places), leastSum(places)]
      : [sum((phi) => Math.sin(phi), first), sum((phi) => Math.cos(phi), first)];
  return { roll: (spare * radius * sines) / jx, pitch: (spare * radius * cosines) / jy };
}

/**
 * Least of sum |sin(phi + 2 pi i / N)| over phi. The directions of the axes come every pi/N for an odd and 2 pi/N for an even
 * number of places; between two of them the sum is a single sine, concave, so it is least where a place stands on the axis.
 */
function leastSum(places: number): number {
  return azimuths(places, 0).reduce((total, phi) => total + Math.abs(Math.sin(phi)), 0);
}

function azimuths(places: number, first: Radians): Radians[] {
  return Array.from({ length: places }, (_, i) => first + (2 * Math.PI * i) / places);
}
