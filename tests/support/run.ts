import { spawnSync } from "node:child_process";
import { python } from "./available.ts";

/** Runs a Python program with JSON on standard input and returns the JSON it prints. */
export function runPython<T>(program: string, input: unknown = null): T {
  return parse<T>(
    spawnSync(python, ["-c", program], { input: JSON.stringify(input), encoding: "utf8", maxBuffer: 1 << 28 }),
    "python3",
  );
}

/**
 * Runs an R program and returns the numbers it prints, one a line (use `cat(format(x, digits = 17), sep = "\n")`).
 * Input numbers are pasted into the program by the caller: Debian's base R has no JSON reader.
 */
export function runR(program: string): number[] {
  // on standard input: R cuts a long -e argument off in silence
  const read = 'eval(parse(text = readLines(file("stdin"), warn = FALSE)))';
  const result = spawnSync("Rscript", ["--vanilla", "-e", read], {
    input: program,
    encoding: "utf8",
    maxBuffer: 1 << 26,
  });
  if (result.status !== 0) throw new Error(`Rscript failed:\n${result.stderr}`);
  return result.stdout.trim().split(/\s+/).map(Number);
}

/** An R vector literal with all digits. */
export function rVector(values: Iterable<number>): string {
  return `c(${Array.from(values, (value) => value.toPrecision(17)).join(",")})`;
}

function parse<T>(result: { status: number | null; stdout: string; stderr: string }, name: string): T {
  if (result.status !== 0) throw new Error(`${name} failed:\n${result.stderr}`);
  return JSON.parse(result.stdout) as T;
}
