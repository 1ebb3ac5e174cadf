import type { Terminal } from "../../src/cli/Command.ts";

/** A terminal that keeps what is written to it. */
export interface CapturedTerminal extends Terminal {
  readonly stdout: () => string;
  readonly stderr: () => string;
}

/** A terminal for tests: 80 columns, no colour, no progress. */
export function capturedTerminal(changes: Partial<Terminal> = {}): CapturedTerminal {
  let stdout = "";
  let stderr = "";
  return {
    out: (text) => {
      stdout += text;
    },
    err: (text) => {
      stderr += text;
    },
    width: 80,
    colour: false,
    progress: false,
    debug: false,
    stdout: () => stdout,
    stderr: () => stderr,
    ...changes,
  };
}
