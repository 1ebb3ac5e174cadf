import type { Kilograms, Metres, Vector3 } from "../foundation/units.ts";
import type { Campaign, Configuration, RunDeclaration } from "./campaign.ts";

type Ledger = Pick<Campaign, "vehicle" | "parts" | "configurations" | "baseline" | "frames">;

/** A ledger names the whole where its sum is the take-off mass within this share. */
const complete = 0.01;

/** Where the centre of mass of the whole was taken to be, arm at its mean posture: in the vehicle's marker frame, metres. */
export interface CentreOfMass {
  readonly at: Vector3;
  /** declared; summed up from a ledger of the whole; the declared one moved by the counterweights; or no more than the body point */
  readonly source: "declared" | "ledger" | "moved" | "body_point";
}

/** Mass added to the vehicle: what is declared, else what its added counterweights weigh; 0 for the baseline; null where nobody says. */
export function addedMassOf({ configurations, baseline }: Ledger, name: string): Kilograms | null {
  const configuration = configurations[name];
  if (configuration === undefined) return null;
  if (configuration.addedMass !== null) return configuration.addedMass;
  if (configuration.counterweights.length > 0) return addedWeightsOf(configuration);
  return name === baseline ? 0 : null;
}

/** Take-off mass of a run: as weighed, else the vehicle's with what its configuration adds; null where it is not known. */
export function takeoffMassOf(
  campaign: Ledger,
  run: Pick<RunDeclaration, "configuration" | "takeoffMass">,
): Kilograms | null {
  if (run.takeoffMass !== null) return run.takeoffMass;
  const added = addedMassOf(campaign, run.configuration);
  const own = campaign.vehicle?.mass ?? null;
  return own === null || added === null ? null : own + added;
}

/** The centre of mass of a configuration, from the best there is. */
export function centreOfMass(campaign: Ledger, name: string): CentreOfMass {
  const { vehicle, parts = [], configurations, frames } = campaign;
  const configuration = configurations[name];
  if (configuration?.com !== undefined) return { at: configuration.com, source: "declared" };
  // what was moved is missing where it stood
  const weights = (configuration?.counterweights ?? []).flatMap(({ mass, at, movedFrom }) =>
    movedFrom === undefined
      ? [{ mass, at }]
      : [
          { mass, at },
          { mass: -mass, at: movedFrom },
        ],
  );
  const placed = parts.flatMap(({ mass, at }) => (at === null ? [] : [{ mass, at }]));
  const whole = placed.reduce((sum, { mass }) => sum + mass, 0);
  const bare = vehicle?.mass ?? null;
  if (vehicle?.com === undefined && bare !== null && Math.abs(whole / bare - 1) <= complete)
    return { at: centreOf([...placed, ...weights]), source: "ledger" };
  const declared = vehicle?.com !== undefined;
  const own = vehicle?.com ?? frames.bodyPoint;
  if (weights.length === 0 || bare === null) return { at: own, source: declared ? "declared" : "body_point" };
  return { at: centreOf([{ mass: bare, at: own }, ...weights]), source: declared ? "moved" : "body_point" };
}

/**
 * Apparent moving mass that the declared masses and travels make: sum of mass x travel along one of the body's axes, with the
 * standard uncertainty that the masses give it.
 *
 * @param massError  relative standard uncertainty of a mass where none is declared
 * @returns null where no part travels, or a counterweight does not say how it travels
 */
export function expectedMovingMass(
  { parts = [], configurations }: Pick<Ledger, "parts" | "configurations">,
  name: string,
  axis: 0 | 1 | 2,
  massError: number,
): { readonly value: Kilograms; readonly se: Kilograms; readonly most: Kilograms } | null {
  const weights = configurations[name]?.counterweights ?? [];
  if (!parts.some(({ travel }) => travel[axis] !== 0) || weights.some(({ travel }) => travel === undefined))
    return null;
  let [value, variance, most] = [0, 0, 0];
  for (const { mass, massUncertainty = massError * mass, travel } of [...parts, ...weights]) {
    const along = travel![axis];
    value += mass * along;
    variance += (massUncertainty * along) ** 2;
    most += along === 0 ? 0 : mass * Math.max(1, Math.abs(along));
  }
  return { value, se: Math.sqrt(variance), most };
}

/** Mass of the counterweights that were added; one that was only moved adds nothing. */
export function addedWeightsOf({ counterweights }: Pick<Configuration, "counterweights">): Kilograms {
  return weightsOf({ counterweights: counterweights.filter(({ movedFrom }) => movedFrom === undefined) });
}

/** Mass of a configuration's counterweights. */
export function weightsOf({ counterweights }: Pick<Configuration, "counterweights">): Kilograms {
  return counterweights.reduce((sum, { mass }) => sum + mass, 0);
}

function centreOf(masses: readonly { readonly mass: Kilograms; readonly at: Vector3 }[]): Vector3 {
  const whole = masses.reduce((sum, { mass }) => sum + mass, 0);
  const along = (axis: 0 | 1 | 2): Metres => masses.reduce((sum, { mass, at }) => sum + mass * at[axis], 0) / whole;
  return [along(0), along(1), along(2)];
}
