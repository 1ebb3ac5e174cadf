import type { Configuration } from "../../contract/campaign.ts";
import type { Vector3 } from "../../foundation/units.ts";

/**
 * Moment of a configuration's counterweights: sum of mass x place, in the counterweights' own frame; of one that was moved, of
 * the way that it was moved.
 *
 * Without declared counterweights it is zero where nothing was added (the arm alone), and for the baseline, from which all
 * else is counted. Mass that was added without saying where (a sham, for instance) has no known moment.
 *
 * @returns kg m; null where it is not known
 */
export function counterweightMoment(configuration: Configuration, isBaseline: boolean): Vector3 | null {
  const { counterweights, addedMass } = configuration;
  if (counterweights.length === 0) return isBaseline || addedMass === null || addedMass === 0 ? [0, 0, 0] : null;
  const moment: [number, number, number] = [0, 0, 0];
  for (const { mass, at, movedFrom = [0, 0, 0] } of counterweights)
    for (const i of [0, 1, 2] as const) moment[i] += mass * (at[i] - movedFrom[i]!);
  return moment;
}
