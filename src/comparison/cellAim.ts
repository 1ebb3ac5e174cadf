import { measureOf } from "../catalogue/measures.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { CellPlace } from "./cellRuns.ts";
import type { FamilyMember } from "./judgeFamily.ts";

/**
 * What a cell's difference is held against: the smallest one that matters, and which way is steadier. The smallest difference is
 * declared in the unit of the primary measure, and says nothing of measures in another.
 */
export function aimOf(
  campaign: Pick<Campaign, "primary" | "smallestDifference">,
  { subject, metric }: Pick<CellPlace, "subject" | "metric">,
): Pick<FamilyMember, "margin" | "steadier"> {
  const { unit, steadier } = measureOf(metric);
  const same = unit === measureOf(campaign.primary).unit;
  return { margin: same ? campaign.smallestDifference[subject] : null, steadier };
}
