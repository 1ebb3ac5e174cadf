import { expect, test } from "vitest";
// @ts-expect-error a plain module, as tools are
import { mutantsOf } from "./mutate.mjs";

/** Each mutant as the whole text it makes. */
function changed(text: string): string[] {
  const mutants = mutantsOf(text) as { start: number; end: number; text: string }[];
  return mutants.map(({ start, end, text: other }) => text.slice(0, start) + other + text.slice(end));
}

test("operators, numbers, conditions and statements are changed one at a time, brackets kept", () => {
  expect(changed("const a = (b - 1) * c;")).toEqual([
    "const a = ((b - 1) / c);",
    "const a = ((b + 1)) * c;",
    "const a = (b - 2) * c;",
  ]);
  expect(changed("if (a && !b) call();")).toEqual([
    "if (false) call();",
    "if (((a ) || ( !b))) call();",
    "if (a && (b)) call();",
    "if (a && !b) ;",
  ]);
  expect(changed("const a = b ? Math.min(c, 0.5) : -c;")).toEqual([
    "const a = !(b) ? Math.min(c, 0.5) : -c;",
    "const a = b ? Math.max(c, 0.5) : -c;",
    "const a = b ? Math.min(c, 1) : -c;",
    "const a = b ? Math.min(c, 0.5) : (c);",
  ]);
  expect(changed("const yes = a < b;")).toEqual(["const yes = (a >= b);"]);
  expect(changed("const yes = a < b.length;")).toEqual([
    "const yes = (a >= b.length);",
    "const yes = (a <= b.length);",
  ]);
});

test("types, messages and names are left alone", () => {
  // biome-ignore lint/suspicious/noTemplateCurlyInString: a text that holds a template
  const text = "type A = 1 | 2; interface B { readonly c: 3 } throw new Error(`found ${a + 1}`); const d = e!.f as 4;";
  expect(changed(text)).toEqual([]);
});
