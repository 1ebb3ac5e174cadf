import type { Command, OptionDeclaration } from "./Command.ts";

/** Of commands that measure runs. */
const keeping: Readonly<Record<string, OptionDeclaration>> = {
  cache: { type: "string", value: "DIR", help: "keep measurements in DIR, not in .counterpoise/kept" },
  "no-cache": { type: "boolean", help: "measure all runs again, and keep nothing" },
  verify: { type: "boolean", help: "read all logs again for changes that no file time shows" },
};

/** The commands there are. `load` imports one of them and nothing of the others. */
export const commands: readonly Command[] = [
  {
    name: "check",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "check set-up and logs before the answer is seen",
    details: [
      "Everything that an evaluation rests on: files, clocks, frames, windows, checks,",
      "noise, the design of the flights. No difference between configurations: they",
      "bear letters, in an order drawn from the logs. Counts no look, writes no file.",
      "Exits with 1 where no run can be used.",
    ],
    options: {
      json: { type: "boolean", help: "print the check as JSON" },
      notes: { type: "boolean", help: "list the notes of every run, do not only count them" },
      strict: { type: "boolean", help: "exit with 1 if some run was unusable" },
      ...keeping,
    },
    load: async () => (await import("./commands/check.ts")).check,
  },
  {
    name: "evaluate",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "judge the runs of a campaign; writes evaluation.json",
    details: [
      "Prints the answer, the verdict board, the runs lost and what to do next, on one",
      "screen; with --full also every doubtful run with the reason, what else could",
      "have made the difference, why it is so, then tracking error and hover drift.",
      "Writes evaluation.json beside the manifest, and counts the look in looks.jsonl.",
    ],
    options: {
      out: {
        type: "string",
        value: "FILE",
        help: "write to FILE; - is standard output, and no file",
      },
      json: { type: "boolean", help: "print the evaluation as JSON; the file is written too" },
      full: { type: "boolean", help: "print all of it, not one screen" },
      notes: { type: "boolean", help: "all of it, with the notes of every run" },
      audit: { type: "boolean", help: "all of it, with the whole audit" },
      strict: { type: "boolean", help: "exit with 1 if some run was unusable" },
      quiet: { type: "boolean", help: "print nothing, show no progress" },
      ...keeping,
    },
    load: async () => (await import("./commands/evaluate.ts")).evaluate,
  },
  {
    name: "bench",
    operand: { name: "MANIFEST", what: "a campaign.yaml with a bench, or the folder that holds one" },
    summary: "judge the arm on its stand; writes evaluation.json",
    details: [
      "Reads the files of `bench:` in the manifest: forces and moments of the arm",
      "through a six-axis sensor, with and without counterweights. Prints what they",
      "take away by trajectory, speed and channel, over refits, and what is wrong with",
      "the bench. Flights evaluated before are kept in evaluation.json.",
    ],
    options: {
      json: { type: "boolean", help: "print the evaluation as JSON; the file is written too" },
      strict: { type: "boolean", help: "exit with 1 if some run or the bench was unusable" },
    },
    load: async () => (await import("./commands/bench.ts")).bench,
  },
  {
    name: "plan",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "what to fly next, and in which order",
    details: [
      "Reads the runs flown (at least one) for how far they scatter, and prints how",
      "many runs would settle what is open, what designs could show, and a randomised,",
      "mirrored order of flights. Counts no look: it shows no verdict.",
    ],
    options: {
      runs: { type: "string", value: "N", help: "runs to fly per configuration and trajectory" },
      blocks: { type: "string", value: "B", help: "blocks, such as days" },
      trajectories: { type: "string", value: "A,B", help: "fly these alone, with the runs that they need" },
      sham: { type: "boolean", help: "fly the sham configuration too" },
      seed: { type: "string", value: "S", help: "of the order; by default from the runs flown" },
      cards: { type: "string", value: "FILE", help: "write test cards to print (HTML)" },
      csv: { type: "string", value: "FILE", help: "write the new runs as a table for the manifest" },
      json: { type: "boolean", help: "print plan and order as JSON" },
      ...keeping,
    },
    load: async () => (await import("./commands/plan.ts")).plan,
  },
  {
    name: "serve",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "evaluate a campaign and show it in the browser",
    details: [
      "Serves the dashboard to this machine alone and prints its address. Evaluates",
      "again when the manifest or a log changes. Runs are excluded and included in the",
      "dashboard (kept in exclusions.yaml beside the manifest). Ctrl+C stops it.",
    ],
    options: {
      port: {
        type: "string",
        value: "N",
        help: "the port, 4270 by default; the next free one where it is taken",
      },
      blind: { type: "boolean", help: "show what `check` shows: no answer, no look" },
      ...keeping,
    },
    load: async () => (await import("./commands/serve.ts")).serve,
  },
  {
    name: "inspect",
    operand: { name: "LOG", what: "a log file, a ROS 2 bag, or a folder of logs" },
    second: { name: "TOPIC", what: "one of the log: its numbers, with their first values" },
    summary: "show what is in a log or a folder, and draft a manifest",
    details: [
      "Of a log: topics or columns, types, rates, gaps, stamps against receipt, which",
      "topics seem to share a clock, which signal each could be. Of a folder: each log",
      "with duration and rates, and which are copies. Then a manifest with places to",
      "fill in.",
    ],
    options: {
      draft: { type: "string", value: "FILE", help: "write the manifest to a new file" },
      definitions: {
        type: "string",
        value: "DIR",
        help: "a folder of .msg files, for logs that hold no definitions",
      },
      json: { type: "boolean", help: "print the findings as JSON instead of tables" },
    },
    load: async () => (await import("./commands/inspect.ts")).inspect,
  },
  {
    name: "report",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "evaluate, and write a report to send and to keep",
    details: [
      "One page that stands by itself, with answer, verdicts, figures, masses, runs and",
      "exclusions, method, what a reviewer will ask, and the inputs with their sums;",
      "evaluation.json; tables as CSV and for LaTeX; figures as SVG; a list of all. The",
      "same inputs give the same bytes. Counts the look. Never writes over what it did",
      "not write. With --check it says whether a report still holds, and exits with 1",
      "where it does not.",
    ],
    options: {
      out: { type: "string", value: "DIR", help: "the folder to write: new, empty, or a report of this campaign" },
      check: { type: "string", value: "DIR", help: "hold the report in DIR against what would be written now" },
      quiet: { type: "boolean", help: "print nothing, show no progress" },
      ...keeping,
    },
    load: async () => (await import("./commands/report.ts")).report,
  },
  {
    name: "collect",
    operand: { name: "EVALUATION...", what: "files that evaluate wrote, or the folders that hold them", many: true },
    summary: "gather evaluations into tables for R, pandas or SQL",
    details: [
      "Writes runs.parquet (a row for each figure of each run), cells.parquet and",
      "moments.parquet. Reads the evaluations alone and counts no look. One that is",
      "given twice is gathered once.",
    ],
    options: {
      out: { type: "string", value: "DIR", help: "the folder to write: new, empty, or an archive to replace" },
    },
    load: async () => (await import("./commands/collect.ts")).collect,
  },
  {
    name: "diff",
    operand: { name: "BEFORE", what: "an evaluation.json" },
    second: { name: "AFTER", what: "another evaluation.json, to be held against it" },
    summary: "what differs between two evaluations, and what moved",
    details: [
      "Program, files, set-up, runs and findings that differ, then each cell of the",
      "family with its difference before and after and its verdicts. Keep an earlier",
      "file with `evaluate --out`. Counts no look: both answers were seen.",
    ],
    options: {},
    load: async () => (await import("./commands/diff.ts")).diff,
  },
  {
    name: "measure",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "measure a share of the runs, for evaluate to find",
    details: [
      "Keeps what it measures where `evaluate` looks for it. Several processes, on one",
      "machine or on many that see one folder, measure a campaign between them. A part",
      "that was lost is measured by `evaluate`; one that ran twice is no harm. Shows no",
      "figure and counts no look.",
    ],
    options: {
      part: { type: "string", value: "K/N", help: "every Nth run, from the Kth on; default all" },
      cache: keeping.cache!,
      verify: keeping.verify!,
    },
    load: async () => (await import("./commands/measure.ts")).measure,
  },
  {
    name: "cache",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "how much is kept of runs measured, and clear it",
    details: [
      "A run is measured once: its figures are kept in .counterpoise/kept beside the",
      "manifest, and found again while its logs, what the manifest says of it, and the",
      "program are the same. Clearing loses no result and no look: what is gone is",
      "measured again.",
    ],
    options: {
      cache: keeping.cache!,
      clear: { type: "boolean", help: "take away all that is kept" },
    },
    load: async () => (await import("./commands/cache.ts")).cache,
  },
  {
    name: "schema",
    operand: { name: "FILE", what: "manifest, evaluation or runs" },
    summary: "print the JSON Schema of a file",
    details: [
      "Of campaign.yaml, of evaluation.json or of the table that `runs` may name: JSON",
      "Schema 2020-12 with what every key means and in which unit, for editors that",
      "complete by it and for programs in other languages. `inspect --draft` keeps that",
      "of the manifest beside the draft and names it in its first line.",
    ],
    options: {},
    load: async () => (await import("./commands/schema.ts")).schema,
  },
];
