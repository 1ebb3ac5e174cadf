import type { Audit } from "../../contract/audit.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";

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
