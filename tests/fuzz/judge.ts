import { writeFileSync } from "node:fs";
import { prepareSignal } from "../../src/alignment/timedSignals.ts";
import type { Campaign, RunDeclaration } from "../../src/contract/campaign.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { LogError } from "../../src/foundation/errors.ts";
import type { RecordedSignal, Recording, SignalRequest, StampColumn } from "../../src/foundation/recording.ts";
import { markerChecks } from "../../src/pipeline/markerChecks.ts";
import { readLog, readStamps, surveyLog } from "../../src/readers/readLog.ts";
import { bytesOf, type Mutant } from "./mutants.ts";
import type { Seed } from "./seeds.ts";

/**
 * What became of a mutant:
 *
 *   same      it gives the seed's values
 *   refused   a LogError with a hint
 *   reported  it gives others, and the recording says that something is missing, damaged or strange
 *   stands    it gives others where the bytes of just those numbers were changed, or whole messages of a format that does not count
 *             them were taken out: the file is as sound as the seed, and no reader can know
 *   silent    it gives others, and nobody says so
 *   crash     an error that is none of ours
 */
export type Verdict = "same" | "refused" | "reported" | "stands" | "silent" | "crash";

/** One reading of a log: its rows, and all that it says of itself. */
export interface Reading {
  readonly rows: readonly string[];
  readonly said: string;
}

/** Reads all that was asked for, as the evaluation does, and what else doors ask of a log. */
export async function readingOf(path: string, seed: Pick<Seed, "requests">): Promise<Reading> {
  const recording = await readLog([path], seed.requests);
  await surveyLog(path);
  await readStamps(path, [...new Set(seed.requests.map(({ topic }) => topic))]);
  return { rows: rowsOf(recording), said: saidOf(recording, seed.requests) };
}

function rowsOf({ signals }: Recording): string[] {
  return [...signals.values()].flatMap((signal) =>
    Array.from(signal.received.seconds, (_, k) =>
      [
        signal.signal,
        instant(signal.stamped ?? signal.received, k),
        instant(signal.received, k),
        ...Object.entries(signal.columns).map(([name, column]) => `${name} ${column[k]}`),
      ].join(" "),
    ),
  );
}

/** Whole nanoseconds: the same whatever the epoch that they are counted from. */
function instant({ epoch, seconds }: StampColumn, k: number): string {
  const since = seconds[k]!;
  return Number.isFinite(since) ? String(epoch + BigInt(Math.round(since * 1e9))) : String(since);
}

/** As little of a campaign as screening a signal needs. */
const campaign = {
  signals: {},
  clocks: { reference: null },
  frames: { worldUp: "z", onboard: null, onboardByBlock: {} },
} as unknown as Campaign;
const run = { block: null } as unknown as RunDeclaration;

/**
 * All that is said of a log: by its reader, by the screening of each signal on its own (stamps, gaps, jumps, markers that miss their
 * places), and by what a signal has: an attitude or a number that is missing is reported wherever something would rest on it.
 */
function saidOf(
  { recovered, missing, checks, signals, dropouts }: Recording,
  requests: readonly SignalRequest[],
): string {
  const ofSignals = [...signals.values()].map((signal: RecordedSignal) => {
    const prepared = prepareSignal(campaign, run, signal, defaultSettings);
    const markers = requests.find((request) => request.signal === signal.signal)?.markers;
    return [
      Object.keys(signal.columns),
      signal.notes ?? [],
      prepared.checks.map(({ message }) => message),
      prepared.faults.map(({ code, samples }) => `${code} ${samples}`),
      markers === undefined ? [] : markerChecks(signal, markers).map(({ message }) => message),
      notFinite(signal),
    ];
  });
  // whole numbers of nanoseconds are beyond JSON
  return JSON.stringify([recovered, missing, checks ?? [], dropouts ?? null, ofSignals], (_, value) =>
    typeof value === "bigint" ? String(value) : value,
  );
}

function notFinite({ columns }: RecordedSignal): number {
  return Object.values(columns).reduce(
    (sum, column) => sum + column.reduce((count, value) => count + (Number.isFinite(value) ? 0 : 1), 0),
    0,
  );
}

/** @param path  where the mutant lies, or is put */
export async function judge(
  seed: Seed,
  sound: Reading,
  mutant: Mutant,
  path: string,
): Promise<{ verdict: Verdict; why: string }> {
  let reading: Reading;
  try {
    reading = await readingOf(path, seed);
  } catch (error) {
    if (!(error instanceof LogError))
      return { verdict: "crash", why: error instanceof Error ? (error.stack ?? "") : String(error) };
    if (error.code === "" || !error.hint) return { verdict: "crash", why: `an error without a hint: ${error.message}` };
    return { verdict: "refused", why: error.message };
  }
  if (reading.said !== sound.said) return { verdict: "reported", why: reading.said };
  const [before, after] = [new Map(counted(sound.rows)), new Map(counted(reading.rows))];
  const lost = [...before.keys()].filter((row) => !after.has(row));
  const found = [...after.keys()].filter((row) => !before.has(row));
  if (lost.length === 0 && found.length === 0 && reading.rows.length === sound.rows.length)
    return { verdict: "same", why: "" };
  const why = `${lost.length} of ${sound.rows.length} rows are lost, ${reading.rows.length} found, such as\n  ${lost[0] ?? "none"}\n  ${found[0] ?? "none"}`;
  if (seed.format === "table")
    return { verdict: sameAsText(mutant.bytes.toString(), reading.rows) ? "stands" : "silent", why };
  const numbers = bytesOf(seed.values, seed.stamps);
  const places = new Set(mutant.touched?.flatMap((at) => numbers.get(at) ?? []));
  if (places.size > 0 && (await isSoundBeside(seed, sound, mutant, path))) {
    // each stays where it was: what was put elsewhere in the order of time must be reported
    const inPlace = found.every((row) => lost.some((old) => before.get(old) === after.get(row)));
    const most = places.size * (seed.rowsAPlace ?? 1);
    return { verdict: inPlace && found.length === lost.length && lost.length <= most ? "stands" : "silent", why };
  }
  const isShorter = !seed.counted && found.length === 0 && reading.rows.length < sound.rows.length;
  return { verdict: isShorter && mutant.touched === null ? "stands" : "silent", why };
}

/** Whether what was overwritten besides numbers, frame names and blanks among them, changes nothing by itself. */
async function isSoundBeside(seed: Seed, sound: Reading, { touched, bytes }: Mutant, path: string): Promise<boolean> {
  const numbers = bytesOf(seed.values, seed.stamps);
  const others = touched!.filter((at) => !numbers.has(at));
  if (others.length === 0) return true;
  const partly = Buffer.from(seed.bytes);
  for (const at of others) partly[at] = bytes[at]!;
  writeFileSync(path, partly);
  const { said, rows } = await readingOf(path, seed).catch(() => ({ said: "", rows: [] }));
  return said === sound.said && rows.join("\n") === sound.rows.join("\n");
}

function counted(rows: readonly string[]): [string, number][] {
  return rows.map((row, k) => [row, k]);
}

/** Another reading of a table as text, as plain as can be: cells between commas, one row a line, those with a time. */
function sameAsText(text: string, rows: readonly string[]): boolean {
  const lines = text.split("\n").filter((line) => line !== "");
  const [heading, ...data] = lines.map((line) => line.split(","));
  const at = ["x", "y", "z", "qx", "qy", "qz", "qw"].map((name) => heading!.indexOf(name));
  const naive = data.map((cells) => at.map((k) => Number(cells[k])));
  const read = rows.map((row) =>
    row
      .split(" ")
      .slice(3)
      .filter((_, k) => k % 2 === 1)
      .map(Number),
  );
  const key = (all: readonly (readonly number[])[]): string => all.map(String).sort().join("\n");
  return key(naive) === key(read);
}
