import type { Audit } from "../../contract/audit.ts";
import { cellRuns, familyPlaces, runValues } from "../cellRuns.ts";
import { estimateDifference } from "../estimateDifference.ts";
import { placesLater } from "../plannedError.ts";
import type { AuditedCampaign } from "./auditFinding.ts";
import { type FlownOrder, orderFlown } from "./orderFindings.ts";
import { steadyDrift } from "./steadyDrift.ts";

type Order = Audit["order"][number];

/**
 * The order in which the runs of the judged pair were flown, what a steady drift would fake by it, and what drift the runs
 * show.
 *
 * Places are counted over all flights (`orderFlown`), so that two flights with three of another trajectory between them are
 * four apart: a drift does not wait. Where one trajectory is all that was flown, AAABBB puts B 3 places later, ABABAB 1,
 * ABBAAB 1/3, ABBA 0.
 */
export function auditOrder(audited: AuditedCampaign): { order: Audit["order"]; flown: FlownOrder } {
  const { campaign, runs, pair } = audited;
  const flown = orderFlown(runs);
  const order = Object.keys(campaign.trajectories).flatMap((trajectory): Order[] => {
    const own = pair
      .filter((run) => run.trajectory === trajectory)
      .sort((a, b) => flown.places.get(a.id)! - flown.places.get(b.id)!);
    if (own.length === 0) return [];
    const places = own.map(({ id }) => flown.places.get(id)!);
    const later = placesLater(
      own.map(({ configuration, block }, i) => ({
        place: places[i]!,
        block,
        candidate: configuration === campaign.candidate,
      })),
    );
    return [
      {
        trajectory,
        source: flown.source,
        sequence: own.map(({ configuration }) => configuration),
        runs: own.map(({ id }) => id),
        places,
        later,
        faked: later === null ? null : audited.settings.audit_drift_per_run * later,
        drift: driftOf(audited, trajectory, flown),
      },
    ];
  });
  return { order, flown };
}

/** What is left of a balanced order is rounding. */
function clean(later: number): number {
  return Math.abs(later) < 1e-9 ? 0 : later;
}

function driftOf({ campaign, pair, settings }: AuditedCampaign, trajectory: string, flown: FlownOrder): Order["drift"] {
  return familyPlaces(campaign)
    .filter((place) => place.trajectory === trajectory)
    .flatMap(({ subject, axis, metric }): Order["drift"] => {
      const found = cellRuns(campaign, pair, { trajectory, subject, axis, metric });
      const columns = runValues(
        found.map(({ value, block, configuration }) => ({
          value,
          block,
          candidate: configuration === campaign.candidate,
        })),
      );
      const estimate = estimateDifference(columns);
      if (estimate === null) return [];
      const places = Float64Array.from(found, ({ id }) => flown.places.get(id)!);
      const drift = steadyDrift(columns, places, { method: estimate.method, level: settings.interval_level });
      if (drift === null) return [];
      return [
        {
          subject,
          axis,
          metric,
          slope: drift.slope,
          slope_ci95: drift.interval,
          slope_share: drift.mean > 0 ? drift.slope / drift.mean : null,
          p: drift.p,
          faked: drift.slope * clean(drift.later),
        },
      ];
    });
}
