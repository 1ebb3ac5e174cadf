import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../../src/contract/cell.ts";

/**
 * What the cell's metric would read if nothing moved, metres: the measurement noise's standard deviation for rms and sd.
 * Range and synchronous error of noise depend on how many samples there are; null for them and where no noise is known.
 */
export function noiseFloor({ noise }: CampaignView, { subject, axis, metric }: Cell): number | null {
  if ((metric !== "rms" && metric !== "sd") || axis === "norm") return null;
  return noise?.[subject][axis] ?? null;
}
