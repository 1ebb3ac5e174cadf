import { expect, test } from "vitest";
import { steadyDrift } from "../../../src/comparison/audit/steadyDrift.ts";
import { type RunValues, runValues } from "../../../src/comparison/cellRuns.ts";
import { estimateDifference } from "../../../src/comparison/estimateDifference.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { describeWith } from "../../support/available.ts";
import { runR, rVector } from "../../support/run.ts";

/** "ABBA BAAB": blocks parted by blanks, places 1, 2, ... through all of them. */
function flown(order: string, value: (place: number, side: number, block: number) => number): RunValues {
  let place = 0;
  return runValues(
    order.split(" ").flatMap((letters, block) =>
      [...letters].map((letter) => {
        place++;
        const side = letter === "B" ? 1 : 0;
        return { value: value(place, side, block), candidate: side === 1, block: `day${block}` };
      }),
    ),
  );
}

const places = (runs: RunValues): Float64Array => runs.values.map((_, i) => i + 1);
const driftOf = (runs: RunValues, at = places(runs)) =>
  steadyDrift(runs, at, { method: estimateDifference(runs)!.method, level: 0.95 });

// exact arithmetic: value = 5 + block + 2 side + place/10 without any spread
test("a drift without noise is found, whatever the configuration does, and has no interval", () => {
  for (const order of ["AAABBB", "ABBA BAAB", "AB AB BA", "AABB AAB B"]) {
    const drift = driftOf(flown(order, (place, side, block) => 5 + 10 * block + 2 * side + place / 10))!;
    expect(drift.slope).toBeCloseTo(0.1, 12);
    expect(drift).toMatchObject({ standardError: 0, interval: null, p: null });
  }
});

test("what the order hides completely has no slope", () => {
  // one run of each in each of two blocks, always in the same order: place and configuration are one
  expect(driftOf(flown("AB AB AB", (place) => Math.sin(place)))).toBeNull();
  // one run of each in either block: four runs, and block, configuration and place to fit
  expect(driftOf(flown("AB BA", (place) => Math.sin(place)))).toBeNull();
  // all in one place
  expect(driftOf(flown("AAABBB", Math.sin), new Float64Array(6).fill(3))).toBeNull();
});

const orders = [
  "AAABBB",
  "ABABAB",
  "AABBBA",
  "ABBA BAAB",
  "ABBAB ABBA",
  "AAB ABB ABA",
  "AABA BB ABB",
  "AB BA AB BA",
  "AAAAAAAA BBBBBBBB",
];

describeWith(["r"], "drift against R", () => {
  test("lm(value ~ block + side + place) gives slope, standard error, df, p and interval; its side is the difference less what the drift faked", () => {
    const random = seededRandom(41);
    const cases = orders.map((order) => {
      const runs = flown(
        order,
        (place, side, block) => 0.006 - 0.0005 * side + 0.001 * block + 0.00005 * place + 0.0004 * random.normal(),
      );
      // uneven places: other flights lie between
      let at = 0;
      return { runs, at: places(runs).map(() => (at += 1 + Math.floor(3 * random.uniform()))) };
    });
    const expected = runR(
      cases
        .map(({ runs, at }) => {
          const blocked = estimateDifference(runs)!.method === "blocked";
          return `value <- ${rVector(runs.values)}; side <- ${rVector(runs.candidate)}; place <- ${rVector(at)}
            block <- factor(${rVector(runs.block)})
            keep <- ${blocked ? "ave(side, block, FUN = max) > ave(side, block, FUN = min)" : "rep(TRUE, length(side))"}
            fit <- lm(value ~ ${blocked ? "droplevels(block) + " : ""}side + place, data.frame(value, side, place, block)[keep, ])
            s <- summary(fit)$coefficients["place", ]; ci <- confint(fit, "place")
            cat(format(c(s[1], s[2], fit$df.residual, s[4], ci, coef(fit)["side"]), digits = 17, scientific = TRUE), sep = "\\n")
            cat("\\n")`;
        })
        .join("\n"),
    );
    const found = cases.flatMap(({ runs, at }) => {
      const drift = driftOf(runs, at)!;
      const kept = estimateDifference(runs)!.difference - drift.slope * drift.later;
      return [drift.slope, drift.standardError, drift.degreesOfFreedom, drift.p!, ...drift.interval!, kept];
    });
    expect(found).toHaveLength(expected.length);
    // values of 6 mm, slopes of 0.05 mm: two to three digits are lost in differences
    for (const [i, value] of found.entries())
      expect(Math.abs(value - expected[i]!), `figure ${i}`).toBeLessThan(1e-9 * Math.max(Math.abs(expected[i]!), 1e-3));
  });
});
