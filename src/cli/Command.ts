import type { Terminal } from "./Terminal.ts";

/** One option of a command. */
export interface OptionDeclaration {
  readonly type: "boolean" | "string";
  /** what its value is; for `string` only */
  readonly value?: string;
  readonly help: string;
}

/** What a command was reported: options by name and what else stood on the line. */
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
  /** a second one that may be left out */
  readonly second?: { readonly name: string; readonly what: string };
  readonly summary: string;
  readonly details: readonly string[];
  readonly options: Readonly<Record<string, OptionDeclaration>>;
  /** imports the command, and nothing of the others */
  readonly load: () => Promise<CommandRun>;
}
