import { csvFormatRows } from "d3-dsv";
import { csvField } from "../../foundation/csvField.ts";
import { CounterpoiseError } from "../../foundation/errors.ts";

/** A run that is to be flown. */
export interface PlannedRun {
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
