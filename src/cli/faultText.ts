import { ArgumentError, CounterpoiseError, LogError, ManifestError } from "../foundation/errors.ts";

/** What is told of a fault, and the exit code it gives. */
export interface FaultReport {
  readonly text: string;
  readonly code: 2 | 3;
}

/**
 * A fault as the command line tells it. What a person can mend (arguments, manifest, the log to be inspected, a place that
 * cannot be written) gives code 2: message, place, hint, never a stack. Anything else is a fault of the tool: code 3.
 *
 * @param options.debug  show the stack of a fault of the tool
 */
export function faultText(error: unknown, { debug }: { debug: boolean }): FaultReport {
  if (isMendable(error)) {
    const [first = "", ...more] = error.message.split("\n").map(printable);
    const told = [first, ...more].join("\n");
    const lines = [`counterpoise: ${first}`, ...more.map((line) => `  ${line}`)];
    // the problems of a manifest bring their places and hints along
    if (error.place !== null && !told.includes(printable(error.place)))
      lines.push(`  place: ${printable(error.place)}`);
    if (error.hint !== null && !told.includes(printable(error.hint))) lines.push(`  hint: ${printable(error.hint)}`);
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
