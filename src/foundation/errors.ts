/**
 * Errors a person can act on. Rooms throw them; only doors (command line, server) catch them.
 *
 * `message` says what was found and what was expected; `hint` what to do next; `place` where
 * (a file and line, a topic, an argument).
 */
export class CounterpoiseError extends Error {
  readonly code: string;
  readonly hint: string | null;
  readonly place: string | null;

  constructor(
    code: string,
    message: string,
    options: { hint?: string | null; place?: string | null; cause?: unknown } = {},
  ) {
    super(message, options.cause === undefined ? undefined : { cause: options.cause });
    this.name = new.target.name;
    this.code = code;
    this.hint = options.hint ?? null;
    this.place = options.place ?? null;
  }
}

/** The manifest is at fault (exit code 2). `place` is `file:line:column`. */
export class ManifestError extends CounterpoiseError {}

/** The command line is at fault (exit code 2). */
export class ArgumentError extends CounterpoiseError {}

/** One log cannot be read. The run becomes `unusable`; no other run is touched. */
export class LogError extends CounterpoiseError {}

/** Somebody ended the work: no fault of what was at hand, and nothing to report. */
export class StoppedError extends Error {
  constructor(what: string) {
    super(`${what} was stopped`);
    this.name = new.target.name;
  }
}

/** A function was handed fewer points than it needs. */
export class TooFewSamplesError extends CounterpoiseError {
  constructor(functionName: string, needed: number, found: number) {
    super("too-few-samples", `${functionName} requires at least ${needed} data point(s), found ${found}`);
  }
}

/** A function was handed NaN or infinity. */
export class NotFiniteError extends CounterpoiseError {
  constructor(functionName: string, index: number, value: number) {
    super("not-finite", `${functionName} found ${value} at index ${index}, expected a finite number`, {
      hint: "split the track at its gaps first",
    });
  }
}
