import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { auditCodes, auditFindings } from "../../src/catalogue/auditFindings.ts";

test("the manual's table of the audit's findings is the catalogue's", () => {
  const manual = readFileSync(join(import.meta.dirname, "../../client/manual/verdicts.md"), "utf8");
  const [, table] = /\| finding \| grave \| what it says \|\n\|[-|]+\|\n((?:\|.*\n)+)/.exec(manual)!;
  const rows = auditCodes.map((code) => {
    const { grave, what } = auditFindings[code];
    return `| \`${code}\` | ${grave === "either" ? "either, by its size" : grave} | ${what} |`;
  });
  expect(table!.trim().split("\n")).toEqual(rows);
});
