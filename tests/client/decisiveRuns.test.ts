import { expect, test } from "vitest";
import { decisiveRuns } from "../../client/figures/leaveOneOutFigure.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";

const variant = (run: string, difference: number, verdict: "steadier" | "within the noise") => ({
  run,
  difference,
  ci95: [difference - 1e-3, difference + 1e-3] as [number, number],
  p: 0.01,
  p_family: 0.02,
  verdict,
});
const answer = (variants: readonly ReturnType<typeof variant>[]): Pick<CellAnswer, "cell" | "leave_one_out"> => ({
  cell: { verdict: "steadier", difference: -4e-3 } as CellAnswer["cell"],
  leave_one_out: [...variants],
});

test("of sixty runs those are drawn without which the verdict is another, and the two that move the difference most", () => {
  const many = Array.from({ length: 60 }, (_, k) => variant(`r${k}`, -4e-3 + 1e-6 * k, "steadier"));
  many[7] = variant("r7", -3.9999e-3, "within the noise");
  many[30] = variant("r30", -3.1e-3, "steadier");
  many[31] = variant("r31", -4.7e-3, "steadier");
  expect(decisiveRuns(answer(many))).toEqual(["r7", "r30", "r31"]);
});

test("a few runs are all drawn", () => {
  const few = Array.from({ length: 12 }, (_, k) => variant(`r${k}`, -4e-3, "steadier"));
  expect(decisiveRuns(answer(few))).toEqual(few.map(({ run }) => run));
});
