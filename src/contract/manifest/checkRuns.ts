import type { RunDeclaration, SignalSource } from "../campaign.ts";
import type { Reading } from "./reading.ts";
import type { PlacedRun } from "./readRuns.ts";
import { isList, isMapping, type TextTree } from "./textTree.ts";

/** What runs refer to; null where that part of the manifest is faulty itself. */
export interface RunContext {
  readonly configurations: readonly string[] | null;
  readonly trajectories: readonly string[] | null;
  readonly signals: Readonly<Record<string, SignalSource>> | null;
}

/**
 * Runs name what is declared, their logs are those that the signals name, and spans of one log do not overlap.
 *
 * @param tree  the runs as written, so that names are checked in runs that are faulty elsewhere, too
 */
export function checkRuns(reading: Reading, tree: TextTree, runs: readonly PlacedRun[], context: RunContext): void {
  const entries = isList(tree) ? tree : [];
  for (const [index, entry] of entries.entries()) {
    for (const [key, known] of [
      ["configuration", context.configurations],
      ["trajectory", context.trajectories],
    ] as const) {
      const name = isMapping(entry) ? entry[key] : null;
      if (known === null || typeof name !== "string" || name.trim() === "" || known.includes(name.trim())) continue;
      reading.unknownName(["runs", index, key], name, { what: `a declared ${key}`, known });
    }
  }
  if (context.signals !== null) for (const placed of runs) checkLogs(reading, placed, context.signals);
  checkSpans(reading, runs);
}

function checkLogs(reading: Reading, { run, path }: PlacedRun, signals: Readonly<Record<string, SignalSource>>): void {
  const names = Object.keys(run.logs);
  const single = names.includes("");
  const told = new Set<string | null>();
  for (const [signal, { log }] of Object.entries(signals)) {
    const fits = log === null ? names.length === 1 : names.includes(log);
    if (fits || told.has(log)) continue;
    told.add(log);
    if (single) {
      const message = `found one log for run ${run.id}, expected logs: { ${log}: ... }: the signal ${signal} is in log ${log}`;
      reading.complain([...path, "log"], message, `write logs: { ${log}: ... }, or take log: ${log} from the signal`);
    } else if (log === null) {
      const message = `found the logs ${names.join(", ")} for run ${run.id}, expected the signal ${signal} to say which it is in`;
      reading.complain([...path, "logs"], message, `add log: ${names[0]} to the signal`);
    } else {
      reading.unknownName([...path, "logs"], log, {
        what: `a log of run ${run.id} (the signal ${signal} needs it)`,
        known: names,
      });
    }
  }
}

/** The same log without a span, filed twice, is left to the check `copied`, which looks at the samples too. */
function checkSpans(reading: Reading, runs: readonly PlacedRun[]): void {
  const byLog = new Map<string, PlacedRun[]>();
  for (const placed of runs) {
    const key = JSON.stringify(
      Object.entries(placed.run.logs)
        .map(([name, parts]) => [name, parts.map(plainPath)])
        .sort(),
    );
    const group = byLog.get(key);
    if (group === undefined) byLog.set(key, [placed]);
    else group.push(placed);
  }
  for (const group of byLog.values()) {
    if (group.length < 2 || group.every(({ run }) => run.span === null)) continue;
    const ordered = [...group].sort((a, b) => startOf(a.run) - startOf(b.run));
    let reaching = ordered[0]!;
    for (const placed of ordered.slice(1)) {
      if (startOf(placed.run) < endOf(reaching.run)) complainOfOverlap(reading, reaching, placed);
      if (endOf(placed.run) > endOf(reaching.run)) reaching = placed;
    }
  }
}

function complainOfOverlap(reading: Reading, a: PlacedRun, b: PlacedRun): void {
  const [first, second] = a.path.at(-1)! <= b.path.at(-1)! ? [a, b] : [b, a];
  const at = second.run.span === null ? second.path : [...second.path, "span"];
  const message = `found run ${second.run.id} (${spanText(second.run)}) overlapping run ${first.run.id} (${spanText(first.run)}) of the same log, expected spans that do not overlap`;
  reading.complain(at, message, `the other run stands at ${reading.place(first.path)}; samples count in one run only`);
}

const startOf = (run: RunDeclaration): number => run.span?.[0] ?? Number.NEGATIVE_INFINITY;
const endOf = (run: RunDeclaration): number => run.span?.[1] ?? Number.POSITIVE_INFINITY;
const spanText = (run: RunDeclaration): string =>
  run.span === null ? "the whole log" : `${run.span[0]} s to ${run.span[1]} s`;

/** "./day1//a.bag" and "day1/a.bag" are one file. */
function plainPath(path: string): string {
  return path
    .replaceAll("\\", "/")
    .replace(/\/(\.?\/)+/g, "/")
    .replace(/^(\.\/)+/, "");
}
