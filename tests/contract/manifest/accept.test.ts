import { expect, test } from "vitest";
import { example, read, refusal } from "./support.ts";

const withAccept = (entries: string): string => `${example.trimEnd()}\naccept:\n${entries}\n`;

test("findings that are taken as they are: runs by id, one or all, figures as numbers, ranges and words", async () => {
  const { accept } = await read(
    withAccept(
      [
        '  - { check: frame-suspect, runs: [flight-01, flight-02], because: "surveyed", evidence: { off_x_m: [0.398, 0.412], off_y_m: -0.002 } }',
        '  - { check: copied, runs: flight-02, because: "filed twice on purpose", evidence: { same_as: flight-01 } }',
        '  - { check: gap, runs: all, because: "a pillar hides the tool" }',
      ].join("\n"),
    ),
  );
  expect(accept).toEqual([
    {
      check: "frame-suspect",
      runs: ["flight-01", "flight-02"],
      because: "surveyed",
      evidence: { off_x_m: [0.398, 0.412], off_y_m: [-0.002, -0.002] },
    },
    { check: "copied", runs: ["flight-02"], because: "filed twice on purpose", evidence: { same_as: "flight-01" } },
    { check: "gap", runs: "all", because: "a pillar hides the tool", evidence: {} },
  ]);
  expect((await read(example)).accept).toEqual([]);
});

test.each([
  [
    "an unknown check",
    "{ check: frame-suspekt, runs: all, because: surveyed }",
    /expected the code of a check/,
    /frame-suspect\?/,
  ],
  [
    "an unknown run",
    "{ check: gap, runs: [flight-1], because: surveyed }",
    /found "flight-1", expected the id of a run/,
    /flight-01\?/,
  ],
  [
    "one unknown run",
    "{ check: gap, runs: flight-1, because: surveyed }",
    /found "flight-1", expected the id of a run/,
    /flight-01\?/,
  ],
  ["no reason", "{ check: gap, runs: all }", /expected the reason in words/, null],
  ["a switch for a reason", "{ check: gap, runs: all, because: yes }", /expected the reason in words/, null],
  ["no runs", "{ check: gap, runs: [], because: surveyed }", /found no run/, null],
  [
    "a range that is none",
    "{ check: gap, runs: all, because: surveyed, evidence: { a_m: [2, 1] } }",
    /a_m, expected a number or/,
    null,
  ],
  [
    "evidence that is no mapping",
    "{ check: gap, runs: all, because: surveyed, evidence: 3 }",
    /expected figures of the finding/,
    null,
  ],
  [
    "an unknown key",
    "{ check: gap, runs: all, because: surveyed, evidense: {} }",
    /unknown key "evidense"/,
    /evidence\?/,
  ],
])("%s is refused with its place", async (_, entry, message, hint) => {
  const { problems } = await refusal(withAccept(`  - ${entry}`));
  expect(problems[0]!.message).toMatch(message);
  if (hint !== null) expect(problems[0]!.hint).toMatch(hint);
});
