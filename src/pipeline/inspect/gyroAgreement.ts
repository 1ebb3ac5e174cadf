import { coarseOffset } from "../../alignment/clock/coarseOffset.ts";
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
    const shares = [false, true].map((frd) => {
      const found = coarseOffset(turns, turnsIn(gyro, way.unit, frd), { near: 0, search, overlap, smoothing });
      return found?.agreement ?? Number.NEGATIVE_INFINITY;
    });
    const share = Math.max(...shares);
    if (Number.isFinite(share) && (best === null || share > best.share + alike))
      best = { share, frd: shares[1]! > shares[0]!, ...way };
  }
  return best;
}
