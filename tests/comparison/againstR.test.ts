import { expect, test } from "vitest";
import {
  blockedDifference,
  type DifferenceEstimate,
  differenceInterval,
  differenceP,
  equivalenceP,
  welchDifference,
} from "../../src/comparison/estimateDifference.ts";
import { holm } from "../../src/comparison/judgeFamily.ts";
import { groupSums } from "../../src/comparison/permutationSums.ts";
import { permutationTest } from "../../src/comparison/permutationTest.ts";
import { type SeededRandom, seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";
import { type BlockValues, blockedRunsOf, listed, runsOf } from "../support/runsOf.ts";
import type { Layout } from "./simulatedFamily.ts";

const margin = 0.0008;

/** Run values like those of a flight day, metres: skewed, blocks apart, the candidate's half as many again spread. */
function invented(layout: Layout, random: SeededRandom): BlockValues[] {
  return layout.map(([n0, n1]) => {
    const effect = 0.002 * random.normal();
    const draw = (n: number, mean: number, sd: number): number[] =>
      Array.from({ length: n }, () => effect + mean * Math.exp((sd / mean) * random.normal()));
    return [draw(n0, 0.006, 0.0006), draw(n1, 0.0055, 0.0009)];
  });
}

/** value, block (1 and up) and configuration (0 or 1) as R vectors. */
function dataOf(blocks: readonly BlockValues[]): string {
  const runs = listed(blocks);
  return `value <- ${rVector(runs.map(({ value }) => value))}
    block <- factor(${rVector(runs.map(({ block }) => Number(block!.slice(6))))})
    side <- ${rVector(runs.map(({ candidate }) => Number(candidate)))}`;
}

const printed = (what: string): string => `cat(format(${what}, digits = 17, scientific = TRUE), "\\n")`;

/** difference, se, df, p, both intervals and the equivalence p, as the R programs below print them */
function figuresOf(estimate: DifferenceEstimate): number[] {
  return [
    estimate.difference,
    estimate.standardError,
    estimate.degreesOfFreedom,
    differenceP(estimate)!,
    ...differenceInterval(estimate, 0.95)!,
    ...differenceInterval(estimate, 0.9)!,
    equivalenceP(estimate, margin)!,
  ];
}

const figuresInR = `figures <- function(d, se, df) c(d, se, df, 2 * pt(-abs(d / se), df),
    d + c(-1, 1) * qt(0.975, df) * se, d + c(-1, 1) * qt(0.95, df) * se,
    max(pt((d + ${margin}) / se, df, lower.tail = FALSE), pt((d - ${margin}) / se, df)))`;

function expectAlike(found: readonly number[], expected: readonly number[]): void {
  expect(found).toHaveLength(expected.length);
  // values of 6 mm with differences of tenths of it: a difference, and so an end of an interval, loses two digits or three
  for (const [i, value] of found.entries()) {
    expect(Math.abs(value - expected[i]!), `figure ${i}`).toBeLessThan(1e-10 * Math.max(Math.abs(expected[i]!), 1e-3));
  }
}

const unblocked: Layout[] = [[[2, 2]], [[3, 3]], [[3, 8]], [[5, 4]], [[8, 8]], [[40, 25]]];
const equal: Layout[] = [
  [
    [1, 1],
    [1, 1],
    [1, 1],
  ],
  [
    [2, 2],
    [2, 2],
  ],
  [
    [3, 3],
    [1, 1],
    [2, 2],
  ],
  [
    [2, 2],
    [2, 2],
    [2, 2],
    [2, 2],
  ],
];
const unequal: Layout[] = [
  [
    [2, 1],
    [2, 1],
    [2, 1],
  ],
  [
    [4, 1],
    [2, 2],
  ],
  [
    [3, 1],
    [3, 2],
  ],
  [
    [4, 2],
    [2, 1],
  ],
  [
    [1, 2],
    [2, 1],
    [1, 1],
    [3, 2],
  ],
];
/** the same with a block that holds one configuration: it must make no difference */
const alone: readonly (readonly [full: Layout, more: Layout])[] = [
  [
    [
      [2, 1],
      [1, 3],
    ],
    [
      [2, 1],
      [3, 0],
      [1, 3],
    ],
  ],
  [
    [
      [2, 2],
      [1, 1],
    ],
    [
      [2, 2],
      [1, 1],
      [0, 2],
    ],
  ],
  [
    [
      [1, 2],
      [3, 1],
      [1, 1],
    ],
    [
      [0, 1],
      [1, 2],
      [3, 1],
      [1, 1],
    ],
  ],
];

describeWith(["r"], "against R", () => {
  test("Welch: t.test gives difference, standard error, degrees of freedom, p, 95 and 90 % interval; two t.tests the equivalence", () => {
    const random = seededRandom(11);
    const cells = unblocked.map((layout) => invented(layout, random)[0]!);
    const expected = runR(
      cells
        .map(
          ([baseline, candidate]) => `a <- ${rVector(baseline)}; b <- ${rVector(candidate)}
            w <- t.test(b, a); v <- t.test(b, a, conf.level = 0.9)
            lower <- t.test(b, a, mu = -${margin}, alternative = "greater")$p.value
            upper <- t.test(b, a, mu = ${margin}, alternative = "less")$p.value
            ${printed("c(mean(b) - mean(a), w$stderr, w$parameter, w$p.value, w$conf.int, v$conf.int, max(lower, upper))")}`,
        )
        .join("\n"),
    );
    expectAlike(
      cells.flatMap(([baseline, candidate]) => figuresOf(welchDifference(groupSums(runsOf(baseline, candidate)))!)),
      expected,
    );
  });

  test("Holm: p.adjust, ties and ones included", () => {
    const random = seededRandom(12);
    const families = [1, 2, 12, 40].map((m) => Array.from({ length: m }, () => random.uniform() ** 4));
    families.push([0.01, 0.01, 0.03, 0.03, 1, 1, 0.004], [1, 1, 1], [0, 1e-300, 0.5]);
    const expected = runR(families.map((p) => printed(`p.adjust(${rVector(p)}, "holm")`)).join("\n"));
    expectAlike(
      families.flatMap((p) => holm(p)),
      expected,
    );
  });

  test("within blocks of equal counts: lm(value ~ block + configuration)", () => {
    const random = seededRandom(13);
    const cells = equal.map((layout) => invented(layout, random));
    const expected = runR(
      `${figuresInR}\n${cells
        .map(
          (blocks) => `${dataOf(blocks)}
            fit <- lm(value ~ block + side); s <- summary(fit)$coefficients["side", ]; ci <- confint(fit, "side")
            f <- figures(s[1], s[2], fit$df.residual)
            stopifnot(abs(f[4] - s[4]) < 1e-12, abs(f[5:6] - ci) < 1e-12)
            ${printed("f")}`,
        )
        .join("\n")}`,
    );
    expectAlike(
      cells.flatMap((blocks) => figuresOf(blockedDifference(groupSums(blockedRunsOf(blocks)))!)),
      expected,
    );
  });

  /** HC3 by its definition, (X'X)^-1 X' diag(e^2/(1-h)^2) X (X'X)^-1, and Satterthwaite's df from either side's share of it. */
  const hc3 = `hc3 <- function(value, block, side) {
      block <- droplevels(block); fit <- lm(value ~ block + side)
      X <- model.matrix(fit); bread <- solve(crossprod(X)); w <- (residuals(fit) / (1 - hatvalues(fit)))^2
      share <- function(which) (bread %*% crossprod(X[which, , drop = FALSE] * w[which], X[which, , drop = FALSE]) %*% bread)["side", "side"]
      v0 <- share(side == 0); v1 <- share(side == 1); whole <- (bread %*% crossprod(X * w, X) %*% bread)["side", "side"]
      stopifnot(abs(whole / (v0 + v1) - 1) < 1e-10)
      df <- (v0 + v1)^2 / (v0^2 / (sum(side == 0) - 1) + v1^2 / (sum(side == 1) - 1))
      figures(coef(fit)["side"], sqrt(whole), min(df, fit$df.residual)) }`;

  test("within blocks of unequal counts: the difference of lm with HC3 from model.matrix and hatvalues", () => {
    const random = seededRandom(14);
    const cells = unequal.map((layout) => invented(layout, random));
    const expected = runR(
      `${figuresInR}\n${hc3}\n${cells.map((blocks) => `${dataOf(blocks)}\n${printed("hc3(value, block, side)")}`).join("\n")}`,
    );
    expectAlike(
      cells.flatMap((blocks) => figuresOf(blockedDifference(groupSums(blockedRunsOf(blocks)))!)),
      expected,
    );
  });

  test("a block that holds one configuration is as if it had not been flown", () => {
    const random = seededRandom(15);
    for (const [, more] of alone) {
      const blocks = invented(more, random);
      const full = blocks.filter(([baseline, candidate]) => baseline.length > 0 && candidate.length > 0);
      const expected = runR(
        full.every(([baseline, candidate]) => baseline.length === candidate.length)
          ? `${figuresInR}\n${dataOf(full)}\nfit <- lm(value ~ block + side); s <- summary(fit)$coefficients["side", ]
              ${printed("figures(s[1], s[2], fit$df.residual)")}`
          : `${figuresInR}\n${hc3}\n${dataOf(full)}\n${printed("hc3(value, block, side)")}`,
      );
      expectAlike(figuresOf(blockedDifference(groupSums(blockedRunsOf(blocks)))!), expected);
    }
  });

  /** All arrangements within blocks by combn and expand.grid, the difference of each computed again by `difference`. */
  const enumerate = `enumerate <- function(value, block, side, difference) {
      ways <- lapply(split(seq_along(side), block), function(i) {
        k <- sum(side[i]); combn(length(i), k, function(j) i[j], simplify = FALSE) })
      grid <- expand.grid(lapply(ways, seq_along))
      d <- apply(grid, 1, function(g) { label <- numeric(length(side))
        for (b in seq_along(ways)) label[ways[[b]][[g[b]]]] <- 1
        difference(value, block, label) })
      own <- abs(difference(value, block, side))
      c(mean(abs(d) >= own - 1e-12), length(d), own) }
    plain <- function(value, block, label) mean(value[label == 1]) - mean(value[label == 0])
    within <- function(value, block, label) coef(lm(value ~ block + label))["label"]`;
  const options = { exactUpTo: 100_000, drawn: 20_000, seed: 1 };

  test("exact permutation, no blocks: every choice that combn finds", () => {
    const random = seededRandom(16);
    const cells = ([[[3, 3]], [[4, 4]], [[3, 5]], [[6, 4]], [[6, 6]]] as Layout[]).map((layout) =>
      invented(layout, random),
    );
    // ties: tenths of millimetres
    cells.push(...cells.map((blocks) => blocks.map(([a, b]) => [a.map(tenths), b.map(tenths)] as BlockValues)));
    const expected = runR(
      `${enumerate}\n${cells.map((blocks) => `${dataOf(blocks)}\n${printed("enumerate(value, block, side, plain)")}`).join("\n")}`,
    );
    const found = cells.flatMap((blocks) => {
      const { p, arrangements, exact, observed } = permutationTest(blockedRunsOf(blocks), "welch", options);
      expect(exact).toBe(true);
      return [p, arrangements, Math.abs(observed)];
    });
    expectAlike(found, expected);
  });

  test("exact permutation within blocks: every arrangement, its difference fitted again by lm", () => {
    const random = seededRandom(17);
    const layouts: Layout[] = [
      [
        [2, 2],
        [2, 2],
      ],
      [
        [2, 1],
        [2, 1],
        [2, 1],
      ],
      [
        [4, 1],
        [2, 2],
      ],
      [
        [1, 2],
        [3, 1],
      ],
      [
        [1, 1],
        [1, 1],
        [1, 1],
        [1, 1],
      ],
      [
        [2, 2],
        [3, 0],
        [1, 2],
      ],
    ];
    const cells = layouts.map((layout) => invented(layout, random));
    const expected = runR(
      `${enumerate}\n${cells.map((blocks) => `${dataOf(blocks)}\n${printed("enumerate(value, block, side, within)")}`).join("\n")}`,
    );
    const found = cells.flatMap((blocks) => {
      const { p, arrangements, exact, observed } = permutationTest(blockedRunsOf(blocks), "blocked", options);
      expect(exact).toBe(true);
      return [p, arrangements, Math.abs(observed)];
    });
    expectAlike(found, expected);
  });

  test("one shared block and one with a single configuration: labels move within the shared one, the difference is of all means", () => {
    const blocks = invented(
      [
        [3, 3],
        [0, 2],
        [1, 0],
      ],
      seededRandom(18),
    );
    const expected = runR(`${enumerate}\n${dataOf(blocks)}\n${printed("enumerate(value, block, side, plain)")}`);
    const { p, arrangements, observed } = permutationTest(blockedRunsOf(blocks), "welch", options);
    expectAlike([p, arrangements, Math.abs(observed)], expected);
  });

  test("a drawn permutation p lies where the exact one is", () => {
    const random = seededRandom(19);
    for (const layout of [
      [[6, 6]],
      [[3, 5]],
      [
        [2, 2],
        [3, 2],
        [2, 3],
      ],
    ] as Layout[]) {
      const runs = blockedRunsOf(invented(layout, random));
      const method = layout.length > 1 ? "blocked" : "welch";
      const exact = permutationTest(runs, method, options);
      const drawn = permutationTest(runs, method, { ...options, exactUpTo: 1 });
      expect(drawn).toMatchObject({ exact: false, arrangements: 20_000, leastP: exact.leastP });
      // four standard errors of a share of 20 000 draws
      expect(Math.abs(drawn.p - exact.p)).toBeLessThan(4 * Math.sqrt((exact.p * (1 - exact.p)) / 20_000) + 1 / 20_001);
    }
  });
});

function tenths(value: number): number {
  return Math.round(value * 1e4) / 1e4;
}
