import { ArgumentError } from "../foundation/errors.ts";
import { likelyName } from "../foundation/nearest.ts";
import { buildText } from "../words/buildText.ts";
import type { Command } from "./Command.ts";
import { commands as ownCommands } from "./commandList.ts";
import { faultText } from "./faultText.ts";
import { commandHelp, programHelp } from "./helpText.ts";
import { readArguments } from "./readArguments.ts";
import type { Terminal } from "./Terminal.ts";

/**
 * The program: arguments in, exit code out. Imports only the command asked for, and holds the only catch.
 *
 * @param argv              without the interpreter and the program
 * @param options.commands  the commands there are
 * @returns 0 done; 1 `--strict` and some run unusable; 2 manifest, log or arguments at fault; 3 a fault of the tool
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
