import type { RunDeclaration, SignalSource } from "../campaign.ts";
import { isOfAll, spanOf } from "../campaignParts.ts";
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
  for (const placed of runs) checkSpanNames(reading, placed);
  checkSpans(reading, runs);
}

function checkLogs(reading: Reading, { run, path }: PlacedRun, signals: Readonly<Record<string, SignalSource>>): void {
  const names = Object.keys(run.logs);
  const single = names.includes("");
  const stated = new Set<string | null>();
  for (const [signal, { log }] of Object.entries(signals)) {
    const fits = log === null ? names.length === 1 : names.includes(log);
    if (fits || stated.has(log)) continue;
    stated.add(log);
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
    if (group.length < 2) continue;
    // what overlaps in one log overlaps in the other, and is reported once
    const stated = new Set<PlacedRun>();
    for (const log of Object.keys(group[0]!.run.logs)) checkSpansOf(reading, log, group, stated);
  }
}

/** A log that a run names no span of, though it names one of another, is that of several flights: its part follows from these. */
function checkSpansOf(reading: Reading, log: string, group: readonly PlacedRun[], stated: Set<PlacedRun>): void {
  const parts = group.flatMap((placed) => {
    const span = spanOf(placed.run, log);
    if (span === null && placed.run.span !== null) return [];
    return [{ placed, span, start: span?.[0] ?? Number.NEGATIVE_INFINITY, end: span?.[1] ?? Number.POSITIVE_INFINITY }];
  });
  if (parts.length < 2 || parts.every(({ span }) => span === null)) return;
  parts.sort((a, b) => a.start - b.start);
  let reaching = parts[0]!;
  for (const part of parts.slice(1)) {
    if (part.start < reaching.end && !stated.has(part.placed)) {
      stated.add(part.placed);
      complainOfOverlap(reading, log, reaching.placed, part.placed);
    }
    if (part.end > reaching.end) reaching = part;
  }
}

/** Spans by log name logs of the run. */
function checkSpanNames(reading: Reading, { run, path }: PlacedRun): void {
  if (run.span === null || isOfAll(run.span)) return;
  const names = Object.keys(run.logs);
  if (names.includes("")) {
    const message = `found spans by the names of logs for run ${run.id}, expected [START, END]: it has one log`;
    reading.complain([...path, "span"], message, "write span: [30 s, 95 s]");
    return;
  }
  for (const name of Object.keys(run.span)) {
    if (names.includes(name)) continue;
    reading.unknownName([...path, "span", name], name, { what: `a log of run ${run.id}`, known: names });
  }
}

function complainOfOverlap(reading: Reading, log: string, a: PlacedRun, b: PlacedRun): void {
  const [first, second] = a.path.at(-1)! <= b.path.at(-1)! ? [a, b] : [b, a];
  const at = second.run.span === null ? second.path : [...second.path, "span"];
  const [own, other] = [spanText(second.run, log), spanText(first.run, log)];
  const message = `found run ${second.run.id} (${own}) overlapping run ${first.run.id} (${other}) of the same log, expected spans that do not overlap`;
  reading.complain(at, message, `the other run stands at ${reading.place(first.path)}; samples count in one run only`);
}

function spanText(run: RunDeclaration, log: string): string {
  const span = spanOf(run, log);
  return span === null ? "the whole log" : `${span[0]} s to ${span[1]} s`;
}

/** "./day1//a.bag" and "day1/a.bag" are one file. */
function plainPath(path: string): string {
  return path
    .replaceAll("\\", "/")
    .replace(/\/(\.?\/)+/g, "/")
    .replace(/^(\.\/)+/, "");
}
