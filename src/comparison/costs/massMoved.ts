import type { Campaign, Counterweight } from "../../contract/campaign.ts";
import { centreOfMass } from "../../contract/ledger.ts";
import type { KilogramSquareMetres, Kilograms, Vector3 } from "../../foundation/units.ts";

type Inertia = readonly [KilogramSquareMetres, KilogramSquareMetres, KilogramSquareMetres];

/** Centre of mass of the vehicle without what any configuration adds or moves. */
export function bareCentre(campaign: Campaign): Vector3 {
  return centreOfMass({ ...campaign, configurations: {} }, campaign.baseline).at;
}

/**
 * By how much counterweights change the moments of inertia, each about the centre of mass of the whole (parallel axes): the
 * vehicle is now turned about another point, each weight adds m r^2, and a part that was moved takes m r^2 of its old place away.
 *
 * @param mass     of the vehicle without what is added
 * @param bare     its centre of mass
 * @param centre   of the whole with the weights
 * @param weights  with their places
 * @source C. Huygens, Horologium oscillatorium (1673); J. Steiner's theorem
 */
export function inertiaChange(
  mass: Kilograms,
  bare: Vector3,
  centre: Vector3,
  weights: readonly Pick<Counterweight, "mass" | "at" | "movedFrom">[],
): Inertia {
  const points = [
    { mass, at: bare },
    ...weights.flatMap(({ mass: own, at, movedFrom }) => [
      { mass: own, at },
      ...(movedFrom === undefined ? [] : [{ mass: -own, at: movedFrom }]),
    ]),
  ];
  const about = (a: 0 | 1 | 2, b: 0 | 1 | 2): number =>
    points.reduce((sum, { mass: own, at }) => sum + own * ((at[a] - centre[a]) ** 2 + (at[b] - centre[b]) ** 2), 0);
  return [about(1, 2), about(0, 2), about(0, 1)];
}

/**
 * Amplitude of the control point's travel along the axis on which a weight travels most, over the declared trajectories.
 *
 * @returns metres along x, y and z
 */
export function armTravel(trajectories: Campaign["trajectories"]): Vector3 {
  const most: [number, number, number] = [0, 0, 0];
  const reach = (axis: number, amplitude: number): void => {
    most[axis] = Math.max(most[axis]!, amplitude);
  };
  for (const trajectory of Object.values(trajectories)) {
    if (trajectory.shape === "line") reach("xyz".indexOf(trajectory.axis), trajectory.stroke / 2);
    if (trajectory.shape === "circle")
      for (const axis of trajectory.plane) reach("xyz".indexOf(axis), trajectory.radius);
  }
  return most;
}

/** Moving moment that another mass of a travelling part makes at the widest travel, kg m; null where its travel is not declared. */
export function spreadMoment(spread: Kilograms, travel: Vector3 | undefined, reach: Vector3): number | null {
  if (travel === undefined) return null;
  return spread * Math.max(...travel.map((own, axis) => Math.abs(own) * reach[axis]!));
}
