import { expect, test } from "vitest";
import { changed, example, read, refusal } from "./support.ts";

/** The example with a battery moved as a second candidate, and these lines in place of `candidate`. */
const withLines = (lines: string): string =>
  changed(
    ["candidate: weighted\n", `${lines}\n`],
    ["  ballast: {", "  battery: { label: Battery moved }\n  ballast: {"],
  );

test("one candidate is one pair, and nothing else is there", async () => {
  expect("furtherContrasts" in (await read(example))).toBe(false);
  const alone = await read(withLines("candidates: [weighted]"));
  expect(alone).toMatchObject({ baseline: "bare", candidate: "weighted" });
  expect("furtherContrasts" in alone).toBe(false);
});

test("several candidates: each against the baseline; or the pairs that are named, the first candidate's in the lead", async () => {
  expect(await read(withLines("candidates: [weighted, battery]"))).toMatchObject({
    baseline: "bare",
    candidate: "weighted",
    furtherContrasts: [{ candidate: "battery", baseline: "bare" }],
  });
  const named =
    "candidates: [weighted, battery]\ncompare: [[battery, weighted], [weighted, bare], [weighted, ballast]]";
  expect(await read(withLines(named))).toMatchObject({
    baseline: "bare",
    candidate: "weighted",
    furtherContrasts: [
      { candidate: "battery", baseline: "weighted" },
      { candidate: "weighted", baseline: "ballast" },
    ],
  });
});

test.each([
  ["a candidate twice", "candidates: [weighted, weighted]", /found "weighted" again/],
  ["the baseline as candidate", "candidates: [weighted, bare]", /"bare", which is the baseline as well/],
  ["the sham as candidate", "candidates: [weighted, ballast]", /"ballast", which is the sham as well/],
  ["a configuration that nobody declared", "candidates: [weighted, batery]", /"batery", expected a declared config/],
  ["no candidate", "candidates: []", /found an empty list/],
  ["both keys", "candidate: weighted\ncandidates: [weighted, battery]", /found candidate and candidates/],
  ["compare beside one candidate", "candidate: weighted\ncompare: [[weighted, bare]]", /compare without candidates/],
  [
    "an unknown name in a pair",
    "candidates: [weighted, battery]\ncompare: [[weighted, bare], [batery, bare]]",
    /"batery", expected the baseline, the sham or one of/,
  ],
  [
    "a configuration with itself",
    "candidates: [weighted, battery]\ncompare: [[weighted, bare], [battery, battery]]",
    /found "battery" twice/,
  ],
  [
    "one pair in both directions",
    "candidates: [weighted, battery]\ncompare: [[weighted, bare], [battery, bare], [bare, battery]]",
    /found bare and battery again/,
  ],
  [
    "a pair of three",
    "candidates: [weighted, battery]\ncompare: [[weighted, bare, battery]]",
    /found 3 configurations/,
  ],
  ["an empty list of pairs", "candidates: [weighted, battery]\ncompare: []", /found no pair \[weighted, bare\]/],
  [
    "pairs without the first candidate's own",
    "candidates: [weighted, battery]\ncompare: [[battery, bare]]",
    /found no pair \[weighted, bare\]/,
  ],
  [
    "a candidate in no pair",
    "candidates: [weighted, battery]\ncompare: [[weighted, bare]]",
    /found no pair with battery/,
  ],
])("is refused with its place, once: %s", async (_, lines, message) => {
  const { problems } = await refusal(withLines(lines));
  expect(problems).toHaveLength(1);
  expect(problems[0]!.message).toMatch(message);
  expect(problems[0]!.place).toMatch(/candidates|compare|campaign\.yaml/);
});

test("looks that are paid for take one pair, and are refused beside several", async () => {
  const { problems } = await refusal(
    `${withLines("candidates: [weighted, battery]").trimEnd()}\nlooks: { runs_at_most: 12 }\n`,
  );
  expect(problems.map(({ message }) => message)).toEqual([expect.stringMatching(/found looks beside several cand/)]);
});
