import { describe, expect, test } from "vitest";
import type { RunValues } from "../../src/comparison/cellRuns.ts";
import {
  differenceInterval,
  differenceP,
  equivalenceP,
  estimateDifference,
} from "../../src/comparison/estimateDifference.ts";
import { leaveOneOut } from "../../src/comparison/fragility.ts";
import { type FamilyMember, judgeFamily } from "../../src/comparison/judgeFamily.ts";
import { permutationTest } from "../../src/comparison/permutationTest.ts";
import { runsNeeded } from "../../src/comparison/runsNeeded.ts";
import { type SeededRandom, seededRandom } from "../../src/numeric/seededRandom.ts";
import { blockedRunsOf, runsOf } from "../support/runsOf.ts";
import { type Layout, normalCell, simulatedFamily } from "./simulatedFamily.ts";

/** 2.6 standard errors of a share: a right program exceeds it in 1 of 200 looks, and with a fixed seed always or never. */
const allowance = (share: number, trials: number): number => 2.6 * Math.sqrt((share * (1 - share)) / trials);

const limits = { leastRuns: 3, familyError: 0.05, equivalenceError: 0.05 };

const described = (layout: Layout): string => layout.map((counts) => counts.join("+")).join(", ");

const pick = <T>(from: readonly T[], random: SeededRandom): T => from[Math.floor(random.uniform() * from.length)]!;

/** 3 to 8 runs of either configuration, in one block or in 2 to 4. */
function drawLayout(random: SeededRandom, { equal, blocked }: { equal: boolean; blocked: boolean }): Layout {
  for (;;) {
    const blocks = blocked ? pick([2, 3, 4], random) : 1;
    const counts = blocked ? [1, 2, 3, 4] : [3, 4, 5, 6, 7, 8];
    const layout = Array.from({ length: blocks }, () => {
      const baseline = pick(counts, random);
      return [baseline, equal ? baseline : pick(counts, random)] as const;
    });
    const sums = [0, 1].map((label) => layout.reduce((sum, block) => sum + block[label]!, 0));
    const alike = layout.every(([baseline, candidate]) => baseline === candidate);
    if (alike === equal && Math.min(...sums) >= 3 && Math.max(...sums) <= 8) return layout;
  }
}

describe("20 000 families in which both configurations are one", () => {
  const kinds = [true, false].flatMap((equal) => [true, false].map((blocked) => ({ equal, blocked })));
  const each = 5000;
  const claims = new Map<string, number>();
  const random = seededRandom(20_261);
  const nameOf = ({ equal, blocked }: (typeof kinds)[number]): string =>
    `${equal ? "equal" : "unequal"} counts, ${blocked ? "2 to 4 blocks" : "no blocks"}`;
  for (const kind of kinds) {
    let claimed = 0;
    for (let i = 0; i < each; i++) {
      // coefficients of variation 0.1 to 0.3, neither more than twice the other
      const first = 0.1 + 0.2 * random.uniform();
      const second = Math.min(0.3, Math.max(0.1, first * 2 ** (2 * random.uniform() - 1)));
      const family = simulatedFamily(
        {
          layouts: [drawLayout(random, kind), drawLayout(random, kind)],
          variation: [first, second],
          common: 0.8 * random.uniform(),
          blocks: kind.blocked ? 0.2 : 0,
        },
        random,
      );
      const judged = judgeFamily(family, limits);
      if (judged.some(({ verdict }) => verdict === "steadier" || verdict === "less steady")) claimed++;
    }
    claims.set(nameOf(kind), claimed / each);
  }

  test("hold a false steadier or less steady in at most 5 of 100", () => {
    const overall = [...claims.values()].reduce((sum, share) => sum + share, 0) / claims.size;
    expect(overall).toBeLessThan(0.05 + allowance(0.05, claims.size * each));
  });

  test.each(kinds.map(nameOf))("hold it in at most 5 of 100 also with %s", (name) => {
    expect(claims.get(name)).toBeLessThan(0.05 + allowance(0.05, each));
  });
});

/**
 * The least favourable layouts taken alone, spreads differing by a factor of two. Welch's degrees of freedom and HC3 are known
 * to be too hopeful far out in the tails (Holm's first step is p < 0.05/12) where the smaller group has the larger spread:
 * of families of 3 v 8 runs, the three with twice the spread, some 19 of 100 hold a false claim. Fragility is what stands
 * against that: claims that no single run and no permutation shake stay within 5 of 100.
 */
describe("the least favourable layouts", () => {
  const trials = 1500;
  const twice = [0.15, 0.3] as const;
  const worst: { layout: Layout; variation: readonly [number, number] }[] = [
    { layout: [[3, 8]], variation: [0.3, 0.15] },
    { layout: [[4, 8]], variation: [0.3, 0.15] },
    { layout: [[8, 8]], variation: twice },
    {
      layout: [
        [2, 2],
        [2, 2],
      ],
      variation: twice,
    },
    {
      layout: [
        [5, 1],
        [3, 2],
      ],
      variation: twice,
    },
    {
      layout: [
        [4, 1],
        [2, 2],
      ],
      variation: twice,
    },
  ];
  test.each(worst.map((one) => ({ name: described(one.layout), ...one })))(
    "$name runs, coefficients of variation $variation: claims that are not fragile in at most 5 of 100 families",
    ({ layout, variation }) => {
      const random = seededRandom(38);
      const settings = { layouts: [layout, layout], variation, common: 0.6, blocks: 0.2 };
      let [claims, firm] = [0, 0];
      for (let i = 0; i < trials; i++) {
        const family = simulatedFamily(settings, random);
        const judged = judgeFamily(family, limits);
        const claimed = [...judged.keys()].filter((k) => /stead/.test(judged[k]!.verdict));
        if (claimed.length > 0) claims++;
        if (claimed.some((k) => isFirm(family, judged, k))) firm++;
      }
      expect(firm / trials).toBeLessThan(0.05 + allowance(0.05, trials));
      // recorded, not asked: what it is today, so that a change is noticed (0.19 at 3 v 8, 0.11 at 4 v 8, 0.06 to 0.10 else)
      expect(claims / trials).toBeLessThan(0.2 + allowance(0.2, trials));
    },
  );

  /** No single run and no permutation shakes the claim (design, section 6, item 7). */
  function isFirm(family: readonly FamilyMember[], judged: ReturnType<typeof judgeFamily>, k: number): boolean {
    const { verdict, test: own } = judged[k]!;
    const others = Float64Array.from(judged.filter((_, j) => j !== k).map(({ test: { pEntered } }) => pEntered)).sort();
    if (leaveOneOut(family[k]!, others, limits).some((without) => without.verdict !== verdict)) return false;
    const options = { exactUpTo: 100_000, drawn: 2000, seed: 1 };
    return permutationTest(family[k]!.runs, own.estimate!.method, options).p <= 0.05;
  }
});

/** Shares of `trials` cells in which something holds. */
function shareOf(trials: number, draw: () => RunValues, holds: (runs: RunValues) => boolean): number {
  let count = 0;
  for (let i = 0; i < trials; i++) if (holds(draw())) count++;
  return count / trials;
}

const alarm = (runs: RunValues): boolean => differenceP(estimateDifference(runs)!)! < 0.05;
const covers =
  (difference: number) =>
  (runs: RunValues): boolean => {
    const [low, high] = differenceInterval(estimateDifference(runs)!, 0.95)!;
    return low <= difference && difference <= high;
  };

/** 6 v 3 runs */
const uneven: Layout[] = [
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
];

describe("6 v 3 runs within blocks, one configuration with twice the spread of the other", () => {
  // asked (design, section 6, item 2): under 6.5 %
  test.each(
    uneven.flatMap((layout) =>
      (
        [
          [1, 2],
          [2, 1],
        ] as const
      ).map((sd) => ({ name: described(layout), layout, sd })),
    ),
  )("blocks of $name, sd $sd: fewer than 6.5 of 100 false alarms", ({ layout, sd }) => {
    const random = seededRandom(631);
    const share = shareOf(16_000, () => blockedRunsOf(normalCell(layout, sd, random, { blocks: 2 })), alarm);
    expect(share).toBeLessThan(0.065);
    // and a test that hardly ever rejects would be no test: it errs to the wide side, but not beyond a fifth of the rate
    expect(share).toBeGreaterThan(0.01 - allowance(0.01, 16_000));
  });
});

describe("95 % intervals", () => {
  const trials = 16_000;
  const withinAsked = (share: number): void => {
    expect(share).toBeGreaterThan(0.93 - allowance(0.93, trials));
    expect(share).toBeLessThan(0.97 + allowance(0.97, trials));
  };

  test.each([
    { counts: [3, 3], sd: [1, 1] },
    { counts: [4, 4], sd: [1, 2] },
    { counts: [8, 8], sd: [2, 1] },
    { counts: [3, 5], sd: [1, 1] },
    { counts: [5, 8], sd: [2, 1] },
    { counts: [3, 8], sd: [1, 2] },
    { counts: [3, 8], sd: [2, 1] },
  ] as const)("Welch's, $counts runs with spreads $sd, cover 93 to 97 of 100", ({ counts, sd }) => {
    const random = seededRandom(951);
    const draw = (): RunValues => runsOf(...normalCell([counts], sd, random, { difference: 0.7 })[0]!);
    const share = shareOf(trials, draw, covers(0.7));
    withinAsked(share);
  });

  test.each(
    (
      [
        {
          layout: [
            [1, 1],
            [1, 1],
            [1, 1],
          ],
          sd: [1, 1],
        },
        {
          layout: [
            [2, 2],
            [2, 2],
          ],
          sd: [1, 1],
        },
        {
          layout: [
            [2, 2],
            [2, 2],
          ],
          sd: [1, 2],
        },
        {
          layout: [
            [3, 3],
            [1, 1],
          ],
          sd: [1, 2],
        },
        {
          layout: [
            [2, 2],
            [2, 2],
            [2, 2],
            [2, 2],
          ],
          sd: [2, 1],
        },
      ] as { layout: Layout; sd: [number, number] }[]
    ).map((one) => ({ name: described(one.layout), ...one })),
  )("within blocks of $name with spreads $sd, cover 93 to 97 of 100", ({ layout, sd }) => {
    const random = seededRandom(952);
    const share = shareOf(
      trials,
      () => blockedRunsOf(normalCell(layout, sd, random, { difference: 0.7, blocks: 2 })),
      covers(0.7),
    );
    withinAsked(share);
  });

  test.each(uneven.map((layout) => ({ name: described(layout), layout })))(
    "within blocks of $name, equal spreads, cover at least 93 of 100: HC3 errs to the wide side",
    ({ layout }) => {
      const random = seededRandom(953);
      const share = shareOf(
        trials,
        () => blockedRunsOf(normalCell(layout, [1, 1], random, { difference: 0.7, blocks: 2 })),
        covers(0.7),
      );
      expect(share).toBeGreaterThan(0.93 - allowance(0.93, trials));
      // 96 to 99: wide, and not so wide as to say nothing
      expect(share).toBeLessThan(0.99 + allowance(0.99, trials));
    },
  );
});

describe("equivalence", () => {
  const trials = 16_000;
  test.each(
    (
      [
        { layout: [[3, 3]], sd: [0.2, 0.2] },
        { layout: [[5, 5]], sd: [0.3, 0.3] },
        { layout: [[8, 8]], sd: [0.6, 0.3] },
        { layout: [[4, 8]], sd: [0.4, 0.2] },
        {
          layout: [
            [2, 2],
            [2, 2],
          ],
          sd: [0.3, 0.3],
        },
        {
          layout: [
            [4, 1],
            [2, 2],
          ],
          sd: [0.2, 0.4],
        },
      ] as { layout: Layout; sd: [number, number] }[]
    ).map((one) => ({ name: described(one.layout), ...one })),
  )(
    "is shown in at most 5 of 100 cells, $name runs with spreads $sd, whose true difference is the smallest that matters",
    ({ layout, sd }) => {
      const random = seededRandom(171);
      for (const difference of [1, -1]) {
        const draw = (): RunValues => {
          const values = normalCell(layout, sd, random, { difference, blocks: 2 });
          return layout.length === 1 ? runsOf(...values[0]!) : blockedRunsOf(values);
        };
        const share = shareOf(trials, draw, (runs) => equivalenceP(estimateDifference(runs)!, 1)! < 0.05);
        expect(share).toBeLessThan(0.05 + allowance(0.05, trials));
      }
    },
  );
});

describe("runs needed", () => {
  // Holm's first step over a family of m: p below 0.05/m
  test.each([
    { family: 12, sd: [1, 1], smallest: 1.5 },
    { family: 6, sd: [1, 1], smallest: 2.5 },
    { family: 12, sd: [1, 1], smallest: 4 },
    { family: 12, sd: [0.6, 1.2], smallest: 1.5 },
  ] as { family: number; sd: [number, number]; smallest: number }[])(
    "give 80 of 100 at the smallest difference: family of $family, spreads $sd, difference $smallest",
    ({ family, sd, smallest }) => {
      const trials = 16_000;
      const level = 0.05 / family;
      const { middle } = runsNeeded({ smallestDifference: smallest, sd, spreadDf: 8, level });
      const random = seededRandom(801);
      const power = (runs: number): number =>
        shareOf(
          trials,
          () => runsOf(...normalCell([[runs, runs]], sd, random, { difference: smallest })[0]!),
          (found) => differenceP(estimateDifference(found)!)! < level,
        );
      const [enough, fewer] = [power(middle), power(middle - 1)];
      expect(enough).toBeGreaterThan(0.8 - allowance(0.8, trials));
      expect(fewer).toBeLessThan(0.8 + allowance(0.8, trials));
    },
  );
});
