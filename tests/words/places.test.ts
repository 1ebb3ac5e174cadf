import { expect, test } from "vitest";
import { answerSentence } from "../../src/report/answerSentence.ts";
import { briefText } from "../../src/report/briefText.ts";
import { textFrame } from "../../src/report/text/layout.ts";
import { verdictBoard } from "../../src/report/verdictBoard.ts";
import { alongText, columnHead, placeWords } from "../../src/words/places.ts";
import { inventedEvaluation, inventedFamily } from "../support/inventedEvaluation.ts";

const names = { x: "towards the wall", y: null, z: "up" };

test("an axis of the world bears the name that the manifest gives it; one without a name, its letter alone", () => {
  expect(alongText(["x", "y", "z"], "world", names)).toBe("along x (towards the wall), y and z (up)");
  expect(placeWords("vehicle", ["z"], "world", names)).toBe("vehicle along z (up)");
  expect(placeWords("vehicle", ["z"], "world")).toBe("vehicle along z");
});

test("axes of the heading and of the vehicle are not the world's, so its names do not stand there", () => {
  expect(alongText(["x", "z"], "heading", names)).toBe("along the forward and up axes");
  expect(alongText(["x"], "vehicle", names)).toBe("along x");
  const cell = { axis: "x", axis_name: null, judged_in: "heading" } as const;
  expect(columnHead("x", [cell])).toBe("forward");
  expect(columnHead("x", [cell, { axis: "x", axis_name: "towards the wall", judged_in: "world" }])).toBe(
    "forward or x (towards the wall)",
  );
});

test("sentence and boards bear the names, and a column stays as wide as it was", () => {
  const cells = inventedFamily(["orbit"], ({ subject, axis }) => ({
    ...(subject === "vehicle" && axis === "x" ? { verdict: "steadier", mm: [-3.63, -4.43, -2.83] as const } : {}),
    axis_name: names[axis as keyof typeof names],
  }));
  const named = inventedEvaluation({ cells });
  const plain = inventedEvaluation({ cells: cells.map((cell) => ({ ...cell, axis_name: null })) });
  const frame = textFrame({ colour: false });
  expect(answerSentence(named)).toContain("along x (towards the wall)");
  const head = (evaluation: typeof named): string => verdictBoard(evaluation, frame).find((line) => /^ +x/.test(line))!;
  expect(head(named)).toMatch(/x \(towards.*z \(up\)/);
  expect(briefText(named, frame)).toMatch(/x \(towards/);
  expect(head(named).indexOf("z (up)")).toBe(head(plain).indexOf("z"));
});
