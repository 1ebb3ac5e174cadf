import { measureOf } from "../../catalogue/measures.ts";
import type { Audit, AuditFinding } from "../../contract/audit.ts";
import { joinWords } from "../../words/lists.ts";
import { familyPlaces } from "../cellPlaces.ts";
import { holm } from "../holm.ts";
import { type AuditedCampaign, doubt, note } from "./auditFinding.ts";
import { amountText, placesText } from "./auditWords.ts";

/**
 * `drift-seen`: the runs themselves show that the error grew or fell from flight to flight, distinguished from 0 among all cells of the
 * family (Holm). A doubt where that would have faked more than the shares in the settings of the smallest difference or of the
 * cell's standard error, else a note: the order has kept it out of the difference.
 */
export function driftFindings(audited: AuditedCampaign, order: Audit["order"]): AuditFinding[] {
  const { campaign, cells, settings } = audited;
  const { unit } = measureOf(campaign.primary);
  const family = familyPlaces(campaign).map((place) => ({
    place,
    drift: order
      .find(({ trajectory }) => trajectory === place.trajectory)
      ?.drift.find(({ subject, axis }) => subject === place.subject && axis === place.axis),
  }));
  const adjusted = holm(family.map(({ drift }) => drift?.p ?? null));
  const seen = family.flatMap(({ place, drift }, i) => {
    const pFamily = adjusted[i]!;
    if (drift === undefined || pFamily >= settings.family_error) return [];
    const cell = cells.find(
      (own) =>
        own.in_family &&
        own.trajectory === place.trajectory &&
        own.subject === place.subject &&
        own.axis === place.axis,
    );
    const faked = Math.abs(drift.faked ?? 0);
    const smallest = campaign.smallestDifference[place.subject];
    const matters =
      (smallest !== null && faked > settings.audit_drift_of_smallest * smallest) ||
      (cell !== undefined && cell.se !== null && faked > settings.audit_drift_of_error * cell.se);
    return [{ ...place, judged_in: cell?.judged_in ?? "world", drift, pFamily, matters }];
  });
  return order.flatMap(({ trajectory }) =>
    [true, false].flatMap((matters): AuditFinding[] => {
      const own = seen.filter((each) => each.trajectory === trajectory && each.matters === matters);
      if (own.length === 0) return [];
      const slopes = own.map(({ drift }) => `${drift.slope > 0 ? "+" : "−"}${amountText(Math.abs(drift.slope), unit)}`);
      const faked = own.map(({ drift }) => amountText(Math.abs(drift.faked ?? 0), unit));
      const words = {
        message: `${trajectory}: the error of ${placesText(own)} changed from flight to flight, within either configuration (by ${joinWords(slopes)} a flight); ${matters ? `with the order flown that makes up ${joinWords(faked)} of the difference` : `the order flown keeps it out of the difference (${joinWords(faked)})`}`,
        evidence: {
          trajectory,
          places: own.map(({ subject, axis }) => `${subject} ${axis}`),
          slope: own.map(({ drift }) => drift.slope),
          faked: own.map(({ drift }) => drift.faked ?? 0),
          p_family: own.map(({ pFamily }) => pFamily),
        },
        hint: matters
          ? "look for what changed through the day (battery, temperature, markers, a loosening mount); fly again in mirrored order"
          : "look for what changed through the day (battery, temperature, markers, a loosening mount): it widens the interval",
      };
      return [matters ? doubt("drift-seen", words) : note("drift-seen", words)];
    }),
  );
}
