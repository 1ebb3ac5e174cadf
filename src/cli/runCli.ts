import { ArgumentError, CounterpoiseError, LogError, ManifestError } from "../foundation/errors.ts";
import { likelyName } from "../foundation/nearest.ts";
import { buildText } from "../words/buildText.ts";
import type { Command, Terminal } from "./Command.ts";
import { commands, commands as ownCommands } from "./commandList.ts";
import { readArguments } from "./readArguments.ts";

const column = 18;
/** A name that leaves no gap before its help has a line to itself. */
const line = (name: string, help: string): string =>
  name.length < column - 2 ? `  ${name.padEnd(column - 2)}${help}` : `  ${name}\n${" ".repeat(column)}${help}`;
const exitCodes = [
  "Exit codes",
  line("0", "done; what was asked for was written"),
  line("1", "no run can be used; with --strict: some run was unusable"),
  line("2", "manifest, log or arguments at fault; nothing was written"),
  line("3", "a fault of the tool"),
];

/** Help of the program as a whole. */
function programHelp(): string {
  return lines([
    "counterpoise: from flight logs with and without arm counterweights to errors",
    "per axis that a reviewer can check.",
    "",
    "Usage",
    ...commands.map((command) => `  ${usageOf(command)}`),
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
function commandHelp(command: Command): string {
  const { name, operand, second, summary, details, options } = command;
  return lines([
    `counterpoise ${name}: ${summary}`,
    "",
    "Usage",
    `  ${usageOf(command)}`,
    line(operand.name, operand.what),
    ...(second === undefined ? [] : [line(second.name, second.what)]),
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

function usageOf({ name, operand, second }: Command): string {
  return `counterpoise ${name} ${operand.name}${second === undefined ? "" : ` [${second.name}]`} [options]`;
}

function lines(text: readonly string[]): string {
  return `${text.join("\n")}\n`;
}

/**
 * The program: arguments in, exit code out. Imports only the command asked for, and holds the only catch.
 *
 * @param argv              without the interpreter and the program
 * @param options.commands  the commands there are
 * @returns 0 done; 1 no run usable, or `--strict` and some run unusable; 2 manifest, log or arguments at fault; 3 a fault of the tool
 */
export async function runCli(
  argv: readonly string[],
  terminal: Terminal,
  options: { commands?: readonly Command[] } = {},
): Promise<number> {
  try {
    return await dispatch(argv, terminal, options.commands ?? ownCommands);
  } catch (error) {
    const { text, code } = faultText(error, terminal);
    terminal.err(text);
    return code;
  }
}

async function dispatch(argv: readonly string[], terminal: Terminal, commands: readonly Command[]): Promise<number> {
  const [first, ...rest] = argv;
  if (first === undefined) {
    throw new ArgumentError("no-command", `found no command, expected one of ${namesOf(commands).join(", ")}`, {
      hint: "counterpoise --help shows what there is",
    });
  }
  if (first === "--version") {
    refuseMore(first, rest);
    const { thisBuild } = await import("../pipeline/thisBuild.ts");
    terminal.out(`counterpoise ${buildText(thisBuild)}\n`);
    return 0;
  }
  if (first === "--help" || first === "-h" || first === "help") {
    const [name, ...more] = rest;
    refuseMore(`${first}${name === undefined ? "" : ` ${name}`}`, more);
    terminal.out(name === undefined ? programHelp() : commandHelp(commandNamed(name, commands)));
    return 0;
  }
  const command = commandNamed(first, commands);
  const end = rest.indexOf("--");
  if ((end < 0 ? rest : rest.slice(0, end)).some((word) => word === "--help" || word === "-h")) {
    terminal.out(commandHelp(command));
    return 0;
  }
  const input = readArguments(command, rest);
  const run = await command.load();
  return run(input, terminal);
}

function refuseMore(said: string, more: readonly string[]): void {
  if (more.length === 0) return;
  throw new ArgumentError("too-many-operands", `found ${more.join(" ")} after ${said}, expected nothing`);
}

function commandNamed(name: string, commands: readonly Command[]): Command {
  const found = commands.find((command) => command.name === name);
  if (found !== undefined) return found;
  const option = name.startsWith("-");
  const known = option ? ["--help", "--version"] : [...namesOf(commands), "help"];
  const near = likelyName(name, known);
  throw new ArgumentError(
    option ? "unknown-option" : "unknown-command",
    `found the unknown ${option ? "option" : "command"} ${name}, expected one of ${known.join(", ")}`,
    { hint: near === null ? "counterpoise --help shows what there is" : `did you mean ${near}?` },
  );
}

function namesOf(commands: readonly Command[]): string[] {
  return commands.map(({ name }) => name);
}

/** What is said of a fault, and the exit code it gives. */
interface FaultReport {
  readonly text: string;
  readonly code: 2 | 3;
}

/**
 * A fault as the command line tells it. What a person can mend (arguments, manifest, the log to be inspected, a place that
 * cannot be written) gives code 2: message, place, hint, never a stack. Anything else is a fault of the tool: code 3.
 *
 * @param options.debug  show the stack of a fault of the tool
 */
function faultText(error: unknown, { debug }: { debug: boolean }): FaultReport {
  if (isMendable(error)) {
    const [first = "", ...more] = error.message.split("\n").map(printable);
    const stated = [first, ...more].join("\n");
    const lines = [`counterpoise: ${first}`, ...more.map((line) => `  ${line}`)];
    // the problems of a manifest bring their places and hints along
    if (error.place !== null && !stated.includes(printable(error.place)))
      lines.push(`  place: ${printable(error.place)}`);
    if (error.hint !== null && !stated.includes(printable(error.hint))) lines.push(`  hint: ${printable(error.hint)}`);
    return { text: `${lines.join("\n")}\n`, code: 2 };
  }
  const said = error instanceof Error ? `${error.name}: ${error.message}` : String(error);
  const lines = [`counterpoise: a fault of the tool: ${printable(said.split("\n")[0] ?? "")}`];
  if (debug && error instanceof Error && error.stack) lines.push(error.stack);
  else lines.push("  please report it with the command and the manifest; COUNTERPOISE_DEBUG=1 shows where it happened");
  return { text: `${lines.join("\n")}\n`, code: 3 };
}

function isMendable(error: unknown): error is CounterpoiseError {
  if (error instanceof ArgumentError || error instanceof ManifestError || error instanceof LogError) return true;
  return error instanceof CounterpoiseError && error.code === "not-written";
}

/** Names come from files: control characters must not reach the terminal. */
function printable(text: string): string {
  return text.replace(/\p{Cc}/gu, (character) => `\\x${character.codePointAt(0)!.toString(16).padStart(2, "0")}`);
}
