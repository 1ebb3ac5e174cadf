import { csvFormatRows } from "d3-dsv";
import type { PlanCell } from "../../contract/plan.ts";
import type { Settings } from "../../contract/settings.ts";
import { csvField } from "../../foundation/csvField.ts";
import { CounterpoiseError } from "../../foundation/errors.ts";
import { overSpread } from "../decideVerdict.ts";
import { runsForEquivalence, runsNeeded } from "../runsNeeded.ts";
import { detectableDifference, expectedHalfWidth } from "./detectableDifference.ts";

/** A spread to forecast from; `spreadDf` null where it is assumed, and so has no uncertainty of its own. */
interface SpreadToPlan {
  readonly sd: readonly [baseline: number, candidate: number];
  readonly spreadDf: number | null;
}

export type RunsForecast = Pick<PlanCell, "runs_for_difference" | "runs_for_equivalence">;

/** What the tests ask for: the two-sided level of a single cell's, and the thresholds. */
interface Aims {
  readonly level: number;
  readonly settings: Settings;
}

/** What a number of runs per configuration shows: expected half-width and smallest difference seen, metres. */
export function forecast(
  { sd, spreadDf }: SpreadToPlan,
  { runs, level, settings }: Aims & { readonly runs: number },
): Pick<PlanCell, "half_width" | "detectable"> {
  // both grow in proportion to the spread
  const halfWidth = expectedHalfWidth(runs, sd, settings.interval_level);
  const detectable = detectableDifference({ runs, sd, level, power: settings.power });
  const ends = overAny(spreadDf, settings);
  return {
    half_width: ends((factor) => factor * halfWidth),
    detectable: ends((factor) => factor * detectable),
  };
}

/**
 * Runs per configuration that settle a cell either way; null without a smallest difference.
 *
 * @param aims.known  runs for the difference where `runsNeeded` was asked the same already: it is most of the cost
 */
export function runsForecast(
  { sd, spreadDf }: SpreadToPlan,
  smallestDifference: number | null,
  { level, settings, known = null }: Aims & { readonly known?: PlanCell["runs_for_difference"] },
): RunsForecast {
  if (smallestDifference === null) return { runs_for_difference: null, runs_for_equivalence: null };
  const wanted = {
    smallestDifference,
    sd,
    // an assumed spread has one answer: what stands for its degrees of freedom does not touch the middle
    spreadDf: spreadDf ?? 1,
    power: settings.power,
    spreadLevel: settings.spread_level,
    leastRuns: settings.least_runs,
  };
  const difference = known ?? runsNeeded({ ...wanted, level });
  const equivalence = runsForEquivalence({ ...wanted, level: (1 - settings.equivalence_level) / 2 });
  const stated = <T>(answer: { low: T; middle: T; high: T }): { low: T; middle: T; high: T } =>
    spreadDf === null ? { low: answer.middle, middle: answer.middle, high: answer.middle } : answer;
  return { runs_for_difference: stated(difference), runs_for_equivalence: stated(equivalence) };
}

function overAny(
  spreadDf: number | null,
  { spread_level: spreadLevel }: Settings,
): <T>(answer: (factor: number) => T) => { low: T; middle: T; high: T } {
  return (answer) =>
    spreadDf === null
      ? { low: answer(1), middle: answer(1), high: answer(1) }
      : overSpread({ spreadDf, spreadLevel }, answer);
}

/** A run that is to be flown. */
interface PlannedRun {
  readonly id: string;
  readonly logs: Readonly<Record<string, string>>;
  readonly configuration: string;
  readonly trajectory: string;
  readonly block: string;
  readonly battery: string;
  /** one of the two baseline flights that show what no difference looks like */
  readonly pair: boolean;
  /** the arm is rebuilt before it */
  readonly refit: boolean;
}

/**
 * The table of runs as a manifest reads it (`runs: runs.csv`), with empty columns for what the day will tell.
 *
 * @throws CounterpoiseError  code `not-a-plan`: a name that a table of runs cannot hold as it is
 */
export function runsCsv(runs: readonly PlannedRun[]): string {
  const logs = Object.keys(runs[0]?.logs ?? { "": "" });
  const header = [
    "id",
    ...logs.map((name) => (name === "" ? "log" : `logs.${name}`)),
    "configuration",
    "trajectory",
    "block",
    "battery",
    "takeoff_mass",
    "outcome",
    "notes",
  ];
  const rows = runs.map((run) => [
    ...[run.id, ...logs.map((name) => run.logs[name] ?? ""), run.configuration, run.trajectory, run.block].map(kept),
    run.battery,
    "",
    "",
    [run.pair ? "A/A pair" : "", run.refit ? "refit before" : ""].filter((note) => note !== "").join("; "),
  ]);
  return `${csvFormatRows([header, ...rows])}\n`;
}

/** What a spreadsheet would take for a formula, or the reader would trim, cannot come back as the same name. */
function kept(name: string): string {
  if (csvField(name) === name && name.trim() === name) return name;
  throw new CounterpoiseError(
    "not-a-plan",
    `found the name ${JSON.stringify(name)}, expected one that a table of runs can hold: no = + - @ and no blank at its start`,
    { hint: "give it another name in the manifest" },
  );
}
