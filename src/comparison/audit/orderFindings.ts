import type { Audit, AuditFinding } from "../../contract/audit.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import { type AuditedCampaign, doubt, labelOf, note, percentText } from "./auditFinding.ts";

const sources = {
  started: "the declared starts",
  "log times": "the dates in the logs",
  manifest: "the order of the manifest",
} as const;

/**
 * Whether the order of the flights could have made the difference, as far as it is known: `order-drift` where a steady drift of
 * the size in the settings would fake more than the share in the settings, `order-unknown` where nothing says when the runs
 * were flown, or two sources say different things.
 */
export function orderFindings(
  { campaign, settings }: AuditedCampaign,
  order: Audit["order"],
  { source, contradiction }: FlownOrder,
): AuditFinding[] {
  const findings: AuditFinding[] = [];
  if (contradiction !== null)
    findings.push(
      doubt("order-unknown", {
        message: `runs ${contradiction.join(" and ")} were flown in this order by their declared starts, in the other by the dates in their logs; the declared starts were taken`,
        evidence: { source, runs: [...contradiction] },
        hint: "correct `started`, or leave it out where the logs' own dates are right",
      }),
    );
  if (source === "manifest" && order.some(({ later }) => later !== null))
    findings.push(
      note("order-unknown", {
        message:
          "the order of the flights is not known: neither `started` nor the logs' own dates tell all used runs apart, so the order of the manifest is taken",
        evidence: { source },
        hint: "give every run its `started`, date and time",
      }),
    );
  const label = (key: string): string => labelOf(campaign, key);
  for (const { trajectory, later, faked, sequence } of order) {
    if (later === null || faked === null || Math.abs(faked) <= settings.audit_faked_share) continue;
    const [late, early] = later > 0 ? [campaign.candidate, campaign.baseline] : [campaign.baseline, campaign.candidate];
    const places = Math.abs(later);
    findings.push(
      doubt("order-drift", {
        message: `${trajectory}: ${label(late)} was flown ${countText(places)} later than ${label(early)} on average, by ${sources[source]}: an error that grew or fell by ${percentText(settings.audit_drift_per_run)} a flight (battery, air, a warming arm) would look like a difference of ${percentText(faked)}`,
        evidence: {
          trajectory,
          sequence: [...sequence],
          later,
          drift_per_flight: settings.audit_drift_per_run,
          faked,
          source,
        },
        hint: "fly mirrored orders within each block (A B B A, in the next block B A A B): a steady drift then cancels",
      }),
    );
  }
  return findings;
}

function countText(places: number): string {
  const stated = places.toFixed(1).replace(/\.0$/, "");
  return `${stated} ${stated === "1" ? "place" : "places"}`;
}

/** Which flight came after which. */
export interface FlownOrder {
  readonly source: Audit["order"][number]["source"];
  /** place of a run, 1, 2, ..., among all flights of the campaign */
  readonly places: ReadonlyMap<string, number>;
  /** first two used runs whose declared starts and whose logs' dates stand in opposite order; null where none do */
  readonly contradiction: readonly [string, string] | null;
}

/** 2001-09-09, in nanoseconds: an instant before it was counted from a boot or from nothing, not from 1970. */
const firstDate = 1_000_000_000_000_000_000n;

/**
 * The order in which the runs were flown: as declared (`started`), else by the dates in the logs, else as the manifest lists
 * them. A source serves only where it tells all used runs apart: every one has it, no two alike.
 *
 * Every flight takes a place, whichever trajectory or configuration it flew and whether or not it was used: what drifts
 * through a day (battery, air, wear, a warming arm) drifts through all of them. A log filed twice is one flight. A run that is
 * not used and lacks what the source needs takes none.
 *
 * @param runs  as filed, in the manifest's order
 */
export function orderFlown(runs: readonly RunEvaluation[]): FlownOrder {
  const flights = runs.filter((run) => !isCopy(run));
  const used = flights.filter((run) => run.used);
  const declared = new Map(flights.map((run) => [run.id, run.started === null ? null : BigInt(run.started)]));
  const dated = new Map(flights.map((run) => [run.id, dateOf(run)]));
  const byDeclared = tellsApart(used, declared);
  const byDate = tellsApart(used, dated);
  const listed = new Map(flights.map((run, i) => [run.id, BigInt(i)]));
  const source = byDeclared ? "started" : byDate ? "log times" : "manifest";
  return {
    source,
    places: placesBy(flights, { started: declared, "log times": dated, manifest: listed }[source]),
    contradiction: byDeclared && byDate ? firstContradiction(used, declared, dated) : null,
  };
}

type Instants = ReadonlyMap<string, bigint | null>;

/** Filed a second time: the tool counts only the first. */
function isCopy(run: RunEvaluation): boolean {
  return run.checks.some(({ code, severity }) => code === "copied" && severity === "unusable");
}

/** Where the run's reference clock shows dates, the instant its log begins. Clocks that count from boot order nothing. */
function dateOf({ epoch }: RunEvaluation): bigint | null {
  if (epoch === null) return null;
  const instant = BigInt(epoch);
  return instant > firstDate ? instant : null;
}

function tellsApart(used: readonly RunEvaluation[], instants: Instants): boolean {
  const known = used.map(({ id }) => instants.get(id) ?? null);
  return known.every((instant) => instant !== null) && new Set(known).size === known.length;
}

function placesBy(flights: readonly RunEvaluation[], instants: Instants): Map<string, number> {
  const known = flights
    .map(({ id }, index) => ({ id, index, instant: instants.get(id) ?? null }))
    .filter((run): run is { id: string; index: number; instant: bigint } => run.instant !== null)
    .sort((a, b) => (a.instant < b.instant ? -1 : a.instant > b.instant ? 1 : a.index - b.index));
  return new Map(known.map(({ id }, i) => [id, i + 1]));
}

function firstContradiction(
  used: readonly RunEvaluation[],
  declared: Instants,
  dated: Instants,
): readonly [string, string] | null {
  const places = placesBy(used, declared);
  const sorted = [...used].sort((a, b) => places.get(a.id)! - places.get(b.id)!);
  for (let i = 1; i < sorted.length; i++) {
    const [before, after] = [sorted[i - 1]!.id, sorted[i]!.id];
    if (dated.get(before)! > dated.get(after)!) return [before, after];
  }
  return null;
}
