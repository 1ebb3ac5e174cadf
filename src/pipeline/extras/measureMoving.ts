import type { AlignedRun } from "../../alignment/alignRun.ts";
import { pointOnBody } from "../../alignment/frames.ts";
import type { Campaign } from "../../contract/campaign.ts";
import { centreOfMass, takeoffMassOf } from "../../contract/ledger.ts";
import type { MovingEvaluation, RunExtras } from "../../contract/runExtras.ts";
import type { MeasuredDeclaration } from "../../contract/runGrounds.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { type ArmMotion, type MovingHarmonic, movingMoment } from "../../metrics/movingMoment.ts";

/** What of the campaign the moving moment needs. */
export type MovingFacts = Pick<Campaign, "vehicle" | "parts" | "configurations" | "baseline" | "frames" | "flight">;

type Moving = Pick<RunExtras, "moving" | "moving_missing">;

/**
 * Moving moment of a run: position, attitude and travel of the arm at the vehicle's own samples, from one capture. Of a run that
 * does not give one, why.
 */
export function measureMoving(
  run: AlignedRun,
  facts: MovingFacts,
  declaration: MeasuredDeclaration,
  settings: Settings,
): Moving {
  const none = (why: string | null): Moving => ({ moving: null, moving_missing: why });
  if (run.cycles.length === 0 || run.period === null) return none(null);
  const held = heldBy(declaration.flight ?? facts.flight, run);
  if (held !== null) return none(held);
  if (run.vehicle === null) return none("the vehicle's roll and pitch were not captured");
  if (run.subjects.arm === undefined) return none("the arm's travel was not captured");
  const com = centreOfMass(facts, declaration.configuration);
  const found = movingMoment(motionOf(run, com.at, facts.frames.bodyPoint), run.cycles, {
    harmonics: settings.harmonics,
    neighbours: settings.harmonic_neighbours,
    leastCycles: settings.moving_cycles,
    leastTravel: settings.moving_travel,
    gapShare: settings.moving_gap,
    tiltRatio: settings.moving_tilt_ratio,
  });
  if (found === null) return none(`fewer than ${settings.moving_cycles} whole cycles in a row without a gap`);
  const mass = takeoffMassOf(facts, declaration);
  const along = { x: found.x.map((one) => figures(one, mass)), y: found.y.map((one) => figures(one, mass)) };
  const missing =
    found.level.length === 0
      ? found.x.length + found.y.length > 0
        ? null
        : `sideways the arm moves by less than ${1e3 * settings.moving_travel} mm, and up and down no tilt shows what moves`
      : `along ${found.level.join(" and ")} the vehicle's tilt is not distinguished from the noise of its capture`;
  if (along.x.length + along.y.length === 0) return none(missing);
  return {
    moving: {
      ...(along.x.length > 0 ? { x: along.x } : {}),
      ...(along.y.length > 0 ? { y: along.y } : {}),
      cycles: found.cycles,
      mass,
      com: { at: [...com.at], source: com.source },
    },
    moving_missing: missing,
  };
}

/** What else than thrust held the vehicle within the cycles; null where nothing did. */
function heldBy(flight: Campaign["flight"], { cycles }: AlignedRun): string | null {
  if (flight === undefined) return null;
  if (flight.tether === "tension") return "the vehicle hung on a tether under tension";
  const { contact } = flight;
  const touched = contact !== null && contact[0] < cycles.at(-1)![1] && contact[1] > cycles[0]![0];
  return touched ? "the tool was in contact within the cycles" : null;
}

/** The vehicle's samples at which the arm was seen too. */
function motionOf({ vehicle, subjects }: AlignedRun, com: Vector3, bodyPoint: Vector3): ArmMotion {
  const pose = vehicle!;
  const { t, measured } = subjects.arm!;
  const shift: Vector3 = [com[0] - bodyPoint[0], com[1] - bodyPoint[1], com[2] - bodyPoint[2]];
  const centre = pointOnBody(pose, shift);
  const rows = new Uint32Array(t.length);
  for (let i = 0, k = 0; i < t.length; i++) {
    while (pose.t[k]! < t[i]!) k++;
    rows[i] = k;
  }
  const at = (column: Float64Array): Float64Array => t.map((_, i) => column[rows[i]!]!);
  return {
    t,
    x: at(centre.x),
    y: at(centre.y),
    qx: at(pose.qx),
    qy: at(pose.qy),
    qz: at(pose.qz),
    qw: at(pose.qw),
    sx: measured.x,
    sy: measured.y,
  };
}

function figures(one: MovingHarmonic, mass: number | null): NonNullable<MovingEvaluation["x"]>[number] {
  const known = Number.isFinite(one.variance);
  const times = (value: readonly [number, number]): [number, number] | null =>
    mass === null ? null : [value[0] * mass, value[1] * mass];
  const variance = mass === null || !known ? null : one.variance * mass * mass;
  return {
    k: one.k,
    travel: [...one.travel],
    travel_variance: known ? one.travelVariance : null,
    tilt: [...one.tilt],
    tilt_variance: known ? one.tiltVariance : null,
    moment: times(one.moment),
    apparent_mass: times(one.apparent),
    cov:
      variance === null
        ? null
        : [
            [variance, 0],
            [0, variance],
          ],
    share: [...one.apparent],
    share_variance: known ? one.variance : null,
  };
}
