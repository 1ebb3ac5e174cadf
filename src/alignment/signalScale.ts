import type { SignalSource } from "../contract/campaign.ts";
import { unitFactor } from "../contract/manifest/unitFactor.ts";

/** SI per unit of a signal's columns as the manifest declares it (`units`); 1 where it declares none. */
export function scaleOf(source: SignalSource | undefined, quantity: "position" | "rate"): number {
  const unit = source?.units?.[quantity];
  return unit === undefined ? 1 : (unitFactor(unit)?.factor ?? Number.NaN);
}
