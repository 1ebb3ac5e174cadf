import { coarseOffset } from "../../alignment/clock/coarseOffset.ts";
import { sightOfAttitude, sightOfRate } from "../../alignment/clock/motionSight.ts";
import { gridRates } from "../../alignment/clock/rateGrid.ts";
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
}

/** Two clocks of one log are seldom further apart by receipt, seconds. */
const search = 1;
/** Longer silences are bridged by no integral, seconds. */
const longestStep = 0.1;

/** @returns null where they have too little in common to say */
export function gyroAgreement(gyro: Stream, pose: PoseTrack): GyroAgreement | null {
  const { clock_grid: step, clock_smoothing: smoothing, clock_overlap: overlap } = defaultSettings;
  const body = gridRates(sightOfAttitude(pose, longestStep), step, smoothing);
  const [x, y, z] = gyro.rates!;
  const isUnknown = gyro.candidate.request.columns !== undefined && gyro.candidate.request.units?.rate === undefined;
  let best: GyroAgreement | null = null;
  for (const unit of isUnknown ? (["rad/s", "deg/s"] as const) : (["rad/s"] as const))
    for (const frd of [false, true]) {
      const scale = unit === "rad/s" ? 1 : Math.PI / 180;
      const across = frd ? -scale : scale;
      const rates = [
        x.map((rate) => scale * rate),
        y.map((rate) => across * rate),
        z.map((rate) => across * rate),
      ] as const;
      const grid = gridRates(sightOfRate(gyro.t, rates, longestStep), step, smoothing);
      const share = coarseOffset(body, grid, { near: 0, search, overlap, smoothing })?.agreement ?? null;
      if (share !== null && (best === null || share > best.share)) best = { share, frd, unit };
    }
  return best;
}
