import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { ArgumentError } from "../foundation/errors.ts";
import type { KeepingWish } from "../pipeline/kept/keeping.ts";

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
type CommandRun = (input: CommandInput, terminal: Terminal) => Promise<number>;

export interface Command {
  readonly name: string;
  /** `many`: one or more of them */
  readonly operand: { readonly name: string; readonly what: string; readonly many?: true };
  /** a second one that may be left out */
  readonly second?: { readonly name: string; readonly what: string };
  readonly summary: string;
  readonly details: readonly string[];
  readonly options: Readonly<Record<string, OptionDeclaration>>;
  /** imports the command, and nothing of the others */
  readonly load: () => Promise<CommandRun>;
}

/** Where a command writes, and what it may assume of the reader. Tests pass their own. */
export interface Terminal {
  readonly out: (text: string) => void;
  readonly err: (text: string) => void;
  /** columns for tables on standard output */
  readonly width: number;
  /** standard output is a terminal that shows colour */
  readonly colour: boolean;
  /** standard error is a terminal: progress may be shown there */
  readonly progress: boolean;
  /** show where a fault of the tool happened */
  readonly debug: boolean;
}

/** The manifest a folder stands for. */
const manifestName = "campaign.yaml";

/**
 * The manifest meant by an operand: the file itself, or `campaign.yaml` in the folder named.
 *
 * @throws ArgumentError  a folder without `campaign.yaml`
 */
export function manifestPath(operand: string): string {
  if (!isFolder(operand)) return operand;
  const inside = join(operand, manifestName);
  if (existsSync(inside)) return inside;
  throw new ArgumentError("no-manifest", `found a folder without ${manifestName}, expected a manifest`, {
    place: operand,
    hint: "name the manifest itself; `counterpoise inspect LOG` prints one to start from",
  });
}

/** What the options of a command that measures runs say of keeping them. */
export function keepingWish({ flags, values }: CommandInput): KeepingWish {
  const folder = values.get("cache") ?? null;
  if (folder !== null && !isFolder(folder) && existsSync(folder))
    throw new ArgumentError("option-value", `found --cache ${folder}, a file, expected a folder`, { place: folder });
  if (folder !== null && flags.has("no-cache"))
    throw new ArgumentError("option-value", "found --cache and --no-cache, expected one of them");
  return { folder, off: flags.has("no-cache"), verify: flags.has("verify") };
}

/** Whether a path leads to a folder. */
export function isFolder(path: string): boolean {
  return statSync(path, { throwIfNoEntry: false })?.isDirectory() ?? false;
}
