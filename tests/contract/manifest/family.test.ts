import { expect, test } from "vitest";
import { changed, example, read, refusal } from "./support.ts";

const withFamily = (entries: string, text = example): string => `${text.trimEnd()}\nfamily:\n${entries}\n`;

test("the cells that the campaign is about: some axes, or all of them; none declared is another thing than none", async () => {
  const { family } = await read(
    withFamily(
      "  - { trajectory: orbit, subject: effector, axes: [y, z] }\n  - { trajectory: hold, subject: vehicle }",
    ),
  );
  expect(family).toEqual([
    { trajectory: "orbit", subject: "effector", axes: ["y", "z"] },
    { trajectory: "hold", subject: "vehicle", axes: null },
  ]);
  expect("family" in (await read(example))).toBe(false);
});

test.each([
  ["a trajectory that nobody declared", "{ trajectory: orbti, subject: vehicle }", /found "orbti"/, /orbit\?/],
  ["a subject without verdicts", "{ trajectory: orbit, subject: arm }", /expected the subject of a verdict/, null],
  ["an axis that is none", "{ trajectory: orbit, subject: vehicle, axes: [w] }", /expected an axis: x, y or z/, null],
  ["no axis at all", "{ trajectory: orbit, subject: vehicle, axes: [] }", /found an empty list/, /leave `axes` out/],
  [
    "a cell twice",
    "{ trajectory: orbit, subject: vehicle }\n  - { trajectory: orbit, subject: vehicle, axes: [z] }",
    /found orbit, vehicle, z again, which entry 1 has/,
    /once/,
  ],
])("is refused with its place: %s", async (_, entry, message, hint) => {
  const { problems } = await refusal(withFamily(`  - ${entry}`));
  expect(problems).toHaveLength(1);
  expect(problems[0]!.message).toMatch(message);
  if (hint !== null) expect(problems[0]!.hint).toMatch(hint);
});

test("the effector without a command is refused: it has no cells, and an empty family would judge nothing", async () => {
  const command = /^ {2}effector_command:.*\n/m.exec(example)![0];
  const { problems } = await refusal(
    withFamily("  - { trajectory: orbit, subject: effector }", changed([command, ""])),
  );
  expect(problems.map(({ message }) => message).join("\n")).toMatch(/pose and command are not both declared/);
});

test("an empty family is refused: nothing would be judged", async () => {
  const { problems } = await refusal(`${example.trimEnd()}\nfamily: []\n`);
  expect(problems[0]!.message).toMatch(/found an empty list, expected at least one cell/);
});

test("what the primary measure has no number of is refused: a hold in step with the arm, an axis of what has none", async () => {
  const hold = await refusal(
    withFamily("  - { trajectory: hold, subject: vehicle }", changed(["primary: rms", "primary: synchronous"])),
  );
  expect(hold.problems[0]!.message).toMatch(/"hold", of which the primary measure synchronous has no number/);
  const axis = await refusal(
    withFamily(
      "  - { trajectory: orbit, subject: effector, axes: [x] }",
      changed(["primary: rms", "primary: contour"]),
    ),
  );
  expect(axis.problems[0]!.message).toMatch(/found axes, but the primary measure contour has one number/);
});
