import { expect, test } from "vitest";
import { fittedTurns } from "../../src/numeric/harmonicBasis.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

test("a flat triangle: base 2, height h, fixes the turn about its base by h sqrt(2/3)", () => {
  // by hand: the centre is at h/3; distances from the line along the base h/3, h/3 and 2h/3, squared and summed 2/3 h^2;
  // from the one along the height 1, 1, 0: 2; from the one across both: the sum of the two
  for (const h of [1, 0.1, 1e-3, 1e-6]) {
    const { centre, axes } = fittedTurns([-1, 0, 5, 1, 0, 5, 0, h, 5]);
    expect(centre).toEqual([expect.closeTo(0, 15), expect.closeTo(h / 3, 15), expect.closeTo(5, 14)]);
    expect(axes[0].spread / (h * Math.sqrt(2 / 3))).toBeCloseTo(1, 9);
    expect(axes[1].spread).toBeCloseTo(Math.SQRT2, 12);
    expect(axes[2].spread).toBeCloseTo(Math.sqrt(2 + (2 / 3) * h * h), 12);
    expect(Math.abs(axes[0].direction[0])).toBeCloseTo(1, 12);
  }
});

test("points on one line fix no turn about it", () => {
  expect(fittedTurns([0, 0, 0, 1, 1, 1, 3, 3, 3]).axes[0].spread).toBeLessThan(1e-15);
});

describeWith(["scipy"], "fittedTurns against scipy", () => {
  test("spreads are the roots of numpy's principal moments; noise turns scipy's fit as foretold", () => {
    const noise = 1e-4;
    const bodies = [
      [0.12, 0, 0.02, -0.08, 0.1, 0, -0.08, -0.1, 0.01, 0, 0, 0.06],
      [-0.1, 0.02, 0, 0.1, 0.02, 0, 0.01, 0.026, 0.002],
      [0, 0, 0, 0.05, 0.05, 0.05, 0.1, 0.1, 0.1, 0.03, 0.035, 0.025, 0.07, 0.07, 0.066],
    ];
    const expected = runPython<{ spreads: number[]; turns: number[] }[]>(
      `
import json, sys
import numpy
from scipy.spatial.transform import Rotation
random = numpy.random.default_rng(652)
case = json.load(sys.stdin)
answers = []
for body in case["bodies"]:
    p = numpy.array(body).reshape(-1, 3)
    p = p - p.mean(0)
    moments = numpy.linalg.eigvalsh((p ** 2).sum() * numpy.eye(3) - p.T @ p)
    axes = numpy.linalg.eigh((p ** 2).sum() * numpy.eye(3) - p.T @ p)[1]
    turned = []
    for _ in range(6000):
        q = p + case["noise"] * random.standard_normal(p.shape)
        turn, _ = Rotation.align_vectors(q - q.mean(0), p)
        turned.append(turn.as_rotvec() @ axes)
    answers.append({"spreads": numpy.sqrt(moments).tolist(), "turns": numpy.std(turned, axis=0).tolist()})
print(json.dumps(answers))
`,
      { bodies, noise },
    );
    expected.forEach(({ spreads, turns }, k) => {
      const { axes } = fittedTurns(bodies[k]!);
      spreads.forEach((spread, i) => {
        expect(axes[i]!.spread).toBeCloseTo(spread, 9);
        // a standard deviation of 6000 has the relative standard error 1 / sqrt(12000) = 0.9 %: four of them
        expect(Math.abs(noise / axes[i]!.spread / turns[i]! - 1)).toBeLessThan(0.037);
      });
    });
  });
});
