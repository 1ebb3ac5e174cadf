import { type CoarseOffset, coarseOffset, coarseStep } from "../../alignment/clock/coarseOffset.ts";
import { sightOfAttitude, sightOfRate } from "../../alignment/clock/motionSight.ts";
import { gridRates, type RateGrid } from "../../alignment/clock/rateGrid.ts";
import { defaultSettings } from "../../contract/settings.ts";
import type { PoseTrack } from "../../foundation/tracks.ts";
import type { Stream } from "./streams.ts";

/** How a body turns as a gyro says that it does. */
export interface GyroAgreement {
  /** 1 where both are the same, 0 where they have nothing in common */
  readonly share: number;
  /** the gyro's y and z point the other way than the body's: forward, right, down */
  readonly frd: boolean;
  /** per second of its numbers, where nothing says their unit */
  readonly unit: "rad/s" | "deg/s";
  /** of the body's angles, where nothing says their unit; null where something does */
  readonly angle: "rad" | "deg" | null;
  /** standard error of the offset between the two that could be found by them, seconds */
  readonly offsetError: number;
}

/** Two clocks of one log are seldom further apart by receipt, seconds. */
const search = 1;
/** Longer silences are bridged by no integral, seconds. */
const longestStep = 0.1;
/** From this agreement on no other unit is tried; of two units that agree alike, to this, the SI unit is meant. */
const [enough, alike] = [0.5, 0.05];

const { clock_grid: step, clock_smoothing: smoothing, clock_overlap: overlap } = defaultSettings;

/** How a body turns about its own axes, on an even grid. */
export function turnsOfBody(pose: PoseTrack): RateGrid {
  return gridRates(sightOfAttitude(pose, longestStep), step, smoothing);
}

/** The same as a gyro says, in its own numbers. */
export function turnsOfGyro({ t, rates }: Stream): RateGrid {
  return gridRates(sightOfRate(t, rates!, longestStep), step, smoothing);
}

/** A gyro's turns in radians by the unit of its numbers; the y and z of one that counts forward, right, down turned. */
export function turnsIn({ rates, ...grid }: RateGrid, unit: GyroAgreement["unit"], frd: boolean): RateGrid {
  const scale = unit === "rad/s" ? 1 : Math.PI / 180;
  if (scale === 1 && !frd) return { rates, ...grid };
  const [x, y, z] = rates.map((column, axis) => column.map((rate) => (frd && axis > 0 ? -scale : scale) * rate));
  return { ...grid, rates: [x!, y!, z!] };
}

type Way = Pick<GyroAgreement, "unit" | "angle"> & { readonly pose: PoseTrack };

/** In which units body and gyro may be, the SI units first: what their log says they are alone where it says so. */
function waysOf({ columns, units }: Stream["candidate"]["request"], { pose, poseInDegrees }: Stream): Way[] {
  const rates =
    columns !== undefined && units?.rate !== undefined ? (["rad/s"] as const) : (["rad/s", "deg/s"] as const);
  const angles = [
    ...(pose === null ? [] : [{ pose, angle: poseInDegrees === undefined ? null : ("rad" as const) }]),
    ...(poseInDegrees === undefined ? [] : [{ pose: poseInDegrees, angle: "deg" as const }]),
  ];
  return angles.flatMap((angle) => rates.map((unit) => ({ ...angle, unit })));
}

/**
 * Whether a body turns as a gyro says, in either of the axes that gyros count in and in whichever unit makes it so.
 *
 * @param gyro  `turnsOfGyro`
 * @param of    what the gyro is
 * @returns null where they have too little in common to say
 */
export function gyroAgreement(gyro: RateGrid, of: Stream, body: Stream): GyroAgreement | null {
  const { request } = of.candidate;
  let best: GyroAgreement | null = null;
  for (const { pose, ...way } of waysOf(request, body)) {
    // messages are in radians by their definition, unless nothing turns so
    if (request.columns === undefined && best !== null && best.share >= enough) break;
    const turns = turnsOfBody(pose);
    const found = [false, true].map((frd) =>
      coarseOffset(turns, turnsIn(gyro, way.unit, frd), { near: 0, search, overlap, smoothing }),
    );
    const frd = (found[1]?.agreement ?? -1) > (found[0]?.agreement ?? -1);
    const one = found[Number(frd)];
    if (one != null && (best === null || one.agreement > best.share + alike))
      best = { share: one.agreement, frd, ...way, offsetError: offsetErrorOf(turns, one) };
  }
  return best;
}

/**
 * How well an offset is known by two sights that differ by noise: rms of their difference over rms of the slope, over the root of
 * the number of independent values, one per correlation time of the smoothing.
 *
 * @source the Cramer-Rao bound of a delay, for white noise within the band that the smoothing leaves
 */
function offsetErrorOf(turns: RateGrid, { agreement, energies, overlap: common }: CoarseOffset): number {
  const pairs = common / coarseStep;
  const apart = energies.reduce((sum, [one, other]) => sum + (one + other) * (1 - agreement), 0) / pairs;
  let [slope, count] = [0, 0];
  for (const column of turns.rates)
    for (let i = 1; i < column.length; i++) {
      if (turns.known[i] === 0 || turns.known[i - 1] === 0) continue;
      slope += ((column[i]! - column[i - 1]!) / turns.step) ** 2;
      count++;
    }
  const independent = common / (2 * smoothing * Math.sqrt(Math.PI));
  return Math.sqrt(apart / ((3 * slope) / count) / independent);
}
