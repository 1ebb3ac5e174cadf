import type { Terminal } from "./Terminal.ts";

/** One option of a command. */
export interface OptionDeclaration {
  readonly type: "boolean" | "string";
  /** what its value is; for `string` only */
  readonly value?: string;
  readonly help: string;
}

/** What a command was told: options by name and what else stood on the line. */
export interface CommandInput {
  readonly flags: ReadonlySet<string>;
  readonly values: ReadonlyMap<string, string>;
  readonly operands: readonly string[];
}

/** Runs a command. @returns the exit code */
export type CommandRun = (input: CommandInput, terminal: Terminal) => Promise<number>;

export interface Command {
  readonly name: string;
  readonly operand: { readonly name: string; readonly what: string };
  readonly summary: string;
  readonly details: readonly string[];
  readonly options: Readonly<Record<string, OptionDeclaration>>;
  /** imports the command, and nothing of the others */
  readonly load: () => Promise<CommandRun>;
}

export const commands: readonly Command[] = [
  {
    name: "evaluate",
    operand: { name: "MANIFEST", what: "a campaign.yaml, or the folder that holds one" },
    summary: "judge the runs of a campaign; writes evaluation.json",
    details: [
      "Prints tracking error per trajectory, hover drift, and every doubtful run with the",
      "reason; writes evaluation.json beside the manifest.",
    ],
    options: {
      out: {
        type: "string",
        value: "FILE",
        help: "write the evaluation to FILE; - writes it to standard output, and no file",
      },
      json: { type: "boolean", help: "print the evaluation as JSON instead of tables (the file is written too)" },
      notes: { type: "boolean", help: "list the notes of every run instead of counting them" },
      strict: { type: "boolean", help: "exit with 1 if some run was unusable" },
      quiet: { type: "boolean", help: "no tables and no progress" },
    },
    load: async () => (await import("./commands/evaluate.ts")).evaluate,
  },
  {
    name: "inspect",
    operand: { name: "LOG", what: "a log file" },
    summary: "show what is in a log, and a manifest to start from",
    details: [
      "Topics, types, rates, gaps, stamps against receipt, which topics seem to share a clock,",
      "which signal each could be, and a fragment of a manifest with places to fill in.",
    ],
    options: { json: { type: "boolean", help: "print the findings as JSON instead of tables" } },
    load: async () => (await import("./commands/inspect.ts")).inspect,
  },
];
