import { parseArgs } from "node:util";
import { ArgumentError } from "../foundation/errors.ts";
import { likelyName } from "../foundation/nearest.ts";
import { plainText, textWidth } from "../report/text/layout.ts";
import type { Command, CommandInput, OptionDeclaration, Terminal } from "./Command.ts";

/**
 * Takes a command's arguments apart.
 *
 * @param args  what stands behind the command's name
 * @throws ArgumentError  unknown option, an option without its value or with one too many, a value option given twice,
 *   not exactly one operand, or one more where the command takes a second
 */
export function readArguments(command: Command, args: readonly string[]): CommandInput {
  const { options } = command;
  const { tokens } = parseArgs({
    args: [...args],
    options: Object.fromEntries(Object.entries(options).map(([name, { type }]) => [name, { type }])),
    strict: false,
    allowPositionals: true,
    tokens: true,
  });
  const flags = new Set<string>();
  const values = new Map<string, string>();
  const operands: string[] = [];
  for (const token of tokens) {
    if (token.kind === "positional") operands.push(token.value);
    if (token.kind !== "option") continue;
    const declared = Object.hasOwn(options, token.name) ? options[token.name]! : null;
    if (declared === null || token.rawName.startsWith("--") === false) throw unknownOption(command, token.rawName);
    if (declared.type === "boolean") {
      if (token.value !== undefined) throw superfluous(token.rawName, token.value);
      flags.add(token.name);
    } else {
      values.set(token.name, optionValue(token, declared, values));
    }
  }
  checkOperands(command, operands);
  return { flags, values, operands };
}

function unknownOption({ name, options }: Command, found: string): ArgumentError {
  const known = [...Object.keys(options).map((option) => `--${option}`), "--help"];
  const near = likelyName(found, known);
  return new ArgumentError("unknown-option", `found the unknown option ${found}, expected one of ${known.join(", ")}`, {
    hint: near === null ? `counterpoise help ${name} explains them` : `did you mean ${near}?`,
  });
}

function superfluous(option: string, value: string): ArgumentError {
  return new ArgumentError("option-value", `found ${option}=${value}, expected ${option} alone`, {
    hint: `${option} is on where it is named and off where it is not`,
  });
}

function optionValue(
  token: { name: string; rawName: string; value: string | undefined; inlineValue: boolean | undefined },
  { value: what = "a value" }: OptionDeclaration,
  before: ReadonlyMap<string, string>,
): string {
  const { rawName, value, inlineValue } = token;
  if (before.has(token.name)) {
    throw new ArgumentError("option-twice", `found ${rawName} twice, expected it once`, {
      hint: "leave one of them out",
    });
  }
  const isOption = value !== undefined && !inlineValue && value.length > 1 && value.startsWith("-");
  if (value === undefined || value === "" || isOption) {
    throw new ArgumentError(
      "option-value",
      `found ${rawName} without a value${isOption ? ` before ${value}` : ""}, expected ${rawName} ${what}`,
      { hint: isOption ? `if ${value} is meant as the value: ${rawName}=${value}` : null },
    );
  }
  return value;
}

function checkOperands({ name, operand, second }: Command, operands: readonly string[]): void {
  const most = operand.many ? Number.POSITIVE_INFINITY : second === undefined ? 1 : 2;
  if (operands.length >= 1 && operands.length <= most && operands[0] !== "") return;
  const found = operands.length === 0 || operands[0] === "" ? "nothing" : operands.join(", ");
  throw new ArgumentError(
    operands.length > most ? "too-many-operands" : "no-operand",
    `found ${found}, expected one ${operand.name}: ${operand.what}`,
    { hint: `counterpoise ${name} ${operand.name}` },
  );
}

/** One line on standard error that is written over as the work goes on. */
interface ProgressLine {
  readonly show: (text: string) => void;
  readonly clear: () => void;
}

const wipe = "\r\u001b[K";

/** A progress line where standard error is a terminal; elsewhere one that stays silent. */
export function progressLine(terminal: Terminal, { quiet }: { quiet: boolean }): ProgressLine {
  if (quiet || !terminal.progress) return { show: () => undefined, clear: () => undefined };
  let shown = false;
  return {
    show: (text) => {
      let line = plainText(text);
      while (textWidth(line) >= terminal.width) line = line.slice(0, -1);
      terminal.err(wipe + line);
      shown = true;
    },
    clear: () => {
      if (shown) terminal.err(wipe);
      shown = false;
    },
  };
}
