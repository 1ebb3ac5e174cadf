import type { RunDeclaration } from "../campaign.ts";
import type { FiledRuns } from "./filedRuns.ts";
import type { Reading } from "./reading.ts";
import { logSchema, runSchema } from "./runSchema.ts";
import { isList, isMapping, type Path, type TextTree } from "./textTree.ts";

const maxRuns = 10_000;
const maxIdLength = 200;

/** A run and where it stands, for the checks that compare runs. */
export interface PlacedRun {
  readonly run: RunDeclaration;
  readonly path: Path;
}

/**
 * The runs of a campaign from a list of mappings, each with an id of its own.
 *
 * @returns the runs that are sound; the problems of the others are noted
 */
export function readRuns(reading: Reading, tree: TextTree, filed: FiledRuns): PlacedRun[] {
  if (!isList(tree)) return [];
  if (tree.length === 0 || tree.length > maxRuns) {
    reading.complain(["runs"], `found ${tree.length} runs, expected 1 to ${maxRuns}`);
    return [];
  }
  const found: (Omit<PlacedRun, "run"> & { run: Omit<RunDeclaration, "id"> & { id: string | null } })[] = [];
  for (const [index, entry] of tree.entries()) {
    const path = ["runs", index];
    const run = readRun(reading, entry, path, filed);
    if (run !== null) found.push({ run, path });
  }
  filed.check(found.map(({ run }) => run));
  const ids = new Map<string, Path>();
  for (const { run, path } of found) if (run.id !== null) claimId(reading, ids, run.id, path);
  const next = new Map<string, number>();
  return found.map(({ run, path }) => ({ run: { ...run, id: run.id ?? freeId(run, ids, { next, path }) }, path }));
}

function readRun(
  reading: Reading,
  tree: TextTree,
  path: Path,
  filed: FiledRuns,
): (Omit<RunDeclaration, "id"> & { id: string | null }) | null {
  const found = reading.read(runSchema, tree ?? undefined, path);
  const logs = readLogs(reading, tree, path);
  if (found === null || logs === null) return null;
  const { id, trajectory, block, span, battery, started, notes, outcome, exclude } = found;
  const configuration = configurationOf(reading, { id, logs, configuration: found.configuration }, { filed, path });
  if (configuration === null) return null;
  const flown = found.flight === null ? {} : { flight: found.flight };
  const rest = { takeoffMass: found.takeoff_mass, started, notes, outcome, exclude, ...flown };
  return { id, logs, configuration, trajectory, block, span, battery, ...rest };
}

/** What a run says of itself, else the configuration that lists it. */
function configurationOf(
  reading: Reading,
  run: Pick<RunDeclaration, "logs"> & { readonly id: string | null; readonly configuration: string | null },
  { filed, path }: { filed: FiledRuns; path: Path },
): string | null {
  const at = [...path, "configuration"];
  const listing = filed.listing(run);
  const { configuration: own } = run;
  if (own !== null && listing !== null && own !== listing)
    reading.complain(
      at,
      `found ${JSON.stringify(own)}, expected ${JSON.stringify(listing)}, which lists the run`,
      "take it out of one of the two places",
    );
  const found = own ?? listing ?? filed.rest;
  if (found === null && !reading.isMeant(at))
    reading.complain(
      at,
      "found nothing, expected the name of a configuration",
      "or list the run under a configuration",
    );
  return found;
}

/** `log` under the key "", or `logs` by name; exactly one of the two. */
function readLogs(reading: Reading, tree: TextTree, path: Path): Record<string, readonly string[]> | null {
  if (!isMapping(tree)) return null;
  const single = tree.log !== undefined && tree.log !== null;
  const several = isMapping(tree.logs);
  if (single === several) {
    const misspelled = reading.isMeant([...path, "log"]) || reading.isMeant([...path, "logs"]);
    const message = `found ${single ? "both log and logs" : "neither log nor logs"}, expected one of them`;
    if (single || !misspelled)
      reading.complain(path, message, "log for one log (or its parts), logs for several by name");
    return null;
  }
  const entries: [string, TextTree][] = isMapping(tree.logs) ? Object.entries(tree.logs) : [["", tree.log ?? null]];
  const logs: Record<string, readonly string[]> = {};
  for (const [name, entry] of entries) {
    // a faulty `log` was reported by the run's schema already
    const parts = several ? reading.read(logSchema, entry, [...path, "logs", name]) : logSchema.safeParse(entry).data;
    if (parts === null || parts === undefined) return null;
    logs[name] = parts;
  }
  if (entries.length > 0) return logs;
  reading.complain([...path, "logs"], "found no log, expected at least one");
  return null;
}

function claimId(reading: Reading, ids: Map<string, Path>, id: string, path: Path): void {
  const first = ids.get(id);
  if (first !== undefined) {
    const message = `found ${JSON.stringify(id)} a second time, expected every id once (first at ${reading.place(first)})`;
    reading.complain([...path, "id"], message, "ids name runs in tables, links and exclusions");
  } else if (id.length > maxIdLength) {
    reading.complain([...path, "id"], `found an id of ${id.length} characters, expected at most ${maxIdLength}`);
  }
  ids.set(id, first ?? path);
}

/** The name of the first log without folder and ending; -2, -3 ... where it is taken. */
function freeId(
  run: Pick<RunDeclaration, "logs">,
  ids: Map<string, Path>,
  { next, path }: { next: Map<string, number>; path: Path },
): string {
  const log = Object.values(run.logs)[0]?.[0] ?? "";
  const file = log.split(/[/\\]/).at(-1) ?? log;
  const name = (file.replace(/(?<=.)\.[^.]*$/, "") || "run").slice(0, maxIdLength - 6);
  let id = name;
  let number = next.get(name) ?? 2;
  while (ids.has(id)) id = `${name}-${number++}`;
  next.set(name, number);
  ids.set(id, path);
  return id;
}
