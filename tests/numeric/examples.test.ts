import { readdirSync, readFileSync } from "node:fs";
import { resolve } from "node:path";
import { expect, test } from "vitest";
import { worstDifference } from "./relativeError.ts";

/** A docstring says `@example expression // => numbers`; the expression sees the file's own exports. */
const room = resolve(import.meta.dirname, "../../src/numeric");
const examples = readdirSync(room, { recursive: true, encoding: "utf8" })
  .filter((name) => name.endsWith(".ts") && !name.endsWith(".d.ts"))
  .flatMap((name) => {
    const text = readFileSync(resolve(room, name), "utf8");
    return [...text.matchAll(/@example (.+?) \/\/ => (.+)$/gm)].map(([, expression, result]) => ({
      name,
      expression: expression as string,
      result: result as string,
    }));
  });

test("the docstrings hold examples", () => {
  expect(examples.length).toBeGreaterThan(30);
});

test.each(examples)("$name: $expression gives $result", async ({ name, expression, result }) => {
  const exports: Record<string, unknown> = await import(resolve(room, name));
  const found = new Function(...Object.keys(exports), `return ${expression}`)(...Object.values(exports)) as unknown;
  if (typeof found === "boolean") {
    expect(String(found)).toBe(result);
    return;
  }
  const numbers = typeof found === "number" ? [found] : Array.from(found as ArrayLike<number>);
  const expected = result.split(",").map((part) => Number.parseFloat(part));
  expect(numbers.map(Number.isNaN)).toEqual(expected.map(Number.isNaN));
  const zeroForNaN = (values: number[]): number[] => values.map((value) => (Number.isNaN(value) ? 0 : value));
  // written by hand, for reading: some are searched for to a tolerance; the sharp checks stand in the other files
  expect(worstDifference(zeroForNaN(numbers), zeroForNaN(expected))).toBeLessThan(1e-9);
});
