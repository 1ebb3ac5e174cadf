import type { Command } from "./Command.ts";
import { commands } from "./commandList.ts";

const column = 18;
const line = (name: string, help: string): string => `  ${name.padEnd(column - 2)}${help}`;
const exitCodes = [
  "Exit codes",
  line("0", "done; what was asked for was written"),
  line("1", "only with --strict: some run was unusable"),
  line("2", "manifest, log or arguments at fault; nothing was written"),
  line("3", "a fault of the tool"),
];

/** Help of the program as a whole. */
export function programHelp(): string {
  return lines([
    "counterpoise: from flight logs with and without arm counterweights to errors",
    "per axis that a reviewer can check.",
    "",
    "Usage",
    ...commands.map(({ name, operand }) => `  counterpoise ${name} ${operand.name} [options]`),
    "",
    "Commands",
    ...commands.map(({ name, summary }) => line(name, summary)),
    line("help COMMAND", "what a command does, and its options"),
    "",
    "Options",
    line("--help, -h", "this text; after a command, the command's"),
    line("--version", "version, commit and hash of this build"),
    "",
    ...exitCodes,
    "",
    "The tool judges logs; it never says that a vehicle is safe to fly.",
  ]);
}

/** Help of one command. */
export function commandHelp({ name, operand, summary, details, options }: Command): string {
  return lines([
    `counterpoise ${name}: ${summary}`,
    "",
    "Usage",
    `  counterpoise ${name} ${operand.name} [options]`,
    line(operand.name, operand.what),
    "",
    ...details,
    "",
    "Options",
    ...Object.entries(options).map(([option, { value, help }]) => line(`--${option}${value ? ` ${value}` : ""}`, help)),
    line("--help, -h", "this text"),
    "",
    ...exitCodes,
  ]);
}

function lines(text: readonly string[]): string {
  return `${text.join("\n")}\n`;
}
