import fc from "fast-check";
import { expect, test } from "vitest";
import { ManifestProblemsError } from "../../../src/contract/manifest/problems.ts";
import { example, read } from "./support.ts";

const pieces = [
  "{",
  "}",
  "[",
  "]",
  ":",
  ",",
  "-",
  "&a ",
  "*a",
  "<<: *a",
  "null",
  "~",
  "''",
  "\n",
  "  ",
  "60 mm",
  "3",
  "|",
  ">",
  "!x",
  "#",
  '"',
  "runs",
  "x",
];

/** A campaign or a refusal; anything else is a fault of the tool. */
async function outcome(text: string, table = ""): Promise<"read" | "refused"> {
  try {
    await read(text, { "runs.csv": table });
    return "read";
  } catch (error) {
    if (!(error instanceof ManifestProblemsError)) throw error;
    expect(error.problems.length).toBeGreaterThan(0);
    for (const { place, message } of error.problems) {
      expect(place).toMatch(/^(campaign\.yaml|runs\.csv):[1-9]\d*:[1-9]\d*$/);
      expect(message).toMatch(/found .*expected|found faulty YAML|found an explicit tag/s);
    }
    return "refused";
  }
}

test("the example with a piece of it swapped for anything is read or refused with places, never more", async () => {
  const edit = fc.record({
    at: fc.nat(example.length - 1),
    length: fc.nat(40),
    put: fc.oneof(fc.constantFrom(...pieces), fc.string({ maxLength: 5 })),
  });
  const seen = { read: 0, refused: 0 };
  await fc.assert(
    fc.asyncProperty(fc.array(edit, { minLength: 1, maxLength: 3 }), async (edits) => {
      let text = example;
      for (const { at, length, put } of edits) text = text.slice(0, at) + put + text.slice(at + length);
      seen[await outcome(text)]++;
    }),
    { seed: 4, numRuns: 500 },
  );
  expect(Math.min(seen.read, seen.refused)).toBeGreaterThan(0);
});

test("any value in the place of any section is read or refused with places", async () => {
  const { value } = fc.letrec((tie) => ({
    value: fc.oneof(
      { maxDepth: 4 },
      fc.constantFrom("60 mm", "2 s", "x", "", "3", "bare", "orbit", "circle", "-", "../a.bag"),
      fc.constant(null),
      fc.array(tie("value"), { maxLength: 4 }),
      fc.dictionary(
        fc.constantFrom("log", "logs", "shape", "topic", "columns", "same_motion", "a", "translation", "span"),
        tie("value"),
        { maxKeys: 4 },
      ),
    ),
  }));
  const sections = [
    "title",
    "smallest_difference",
    "configurations",
    "vehicle",
    "frames",
    "signals",
    "clocks",
    "trajectories",
    "static_captures",
    "runs",
  ];
  await fc.assert(
    fc.asyncProperty(fc.constantFrom(...sections), value, async (section, put) => {
      const pattern = new RegExp(`^${section}:.*\\n(?:[ ].*\\n)*`, "m");
      expect(example).toMatch(pattern);
      // JSON is YAML
      await outcome(example.replace(pattern, () => `${section}: ${JSON.stringify(put)}\n`));
    }),
    { seed: 5, numRuns: 500 },
  );
});

test("any table is read or refused with places", async () => {
  const manifest = `${example.slice(0, example.indexOf("runs:\n"))}runs: runs.csv\n`;
  const cell = fc.constantFrom("", "a.bag", "bare", "orbit", "3 s", '"', '""', '"a\nb"', "day1", ";", "é", "\r", " ");
  const row = fc.array(cell, { minLength: 4, maxLength: 5 }).map((cells) => cells.join(","));
  await fc.assert(
    fc.asyncProperty(fc.array(row, { maxLength: 5 }), async (rows) => {
      await outcome(manifest, ["log,configuration,trajectory,span", ...rows].join("\n"));
    }),
    { seed: 6, numRuns: 500 },
  );
});
