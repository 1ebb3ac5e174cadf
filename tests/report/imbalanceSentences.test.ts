import { describe, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { type Imbalance, imbalanceSchema } from "../../src/contract/reasons.ts";
import { counterweightCaution, imbalanceSentences } from "../../src/report/imbalanceSentences.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";

/** 540 g at 140 mm are 75.6 g m; invented: 12 g m are missing, which are 86 g at that distance (12/0.14 = 85.7). */
function invented(
  changes: Partial<Imbalance> = {},
  along: Partial<Imbalance["remaining"]["along"][number]> = {},
): Imbalance {
  const influence = { x: { cos: 0.05, sin: 0.06 }, y: { cos: 0, sin: 0 }, z: { cos: 0, sin: 0 } };
  return imbalanceSchema.parse({
    trajectory: "orbit",
    subject: "vehicle",
    k: 1,
    settings: [
      { configuration: "bare", runs: 5, moment: [0, 0, 0] },
      { configuration: "weighted", runs: 4, moment: [-0.0756, 0, 0] },
    ],
    directions: [[-1, 0, 0]],
    influence: [influence],
    best: [-0.0876, 0, 0],
    remaining: { moment: [-0.012, 0, 0], along: [{ value: 0.012, se: 0.002, ci95: [0.008, 0.017], ...along }] },
    synchronous_rms: { baseline: 0.0056, candidate: 0.0012, best: 0.0003 },
    extrapolated: true,
    influence_p: 0.0004,
    ...changes,
  });
}

function evaluationOf(imbalance: Imbalance[], weights = [-0.14]): CampaignEvaluation {
  const evaluation = inventedEvaluation();
  return {
    ...evaluation,
    settings: {
      ...evaluation.settings,
      configurations: {
        bare: { label: "Arm alone", added_mass: null, counterweights: [] },
        weighted: {
          label: "Counterweights fitted",
          added_mass: 0.54,
          counterweights: weights.flatMap((x) =>
            [0.02, -0.02].map((z) => ({ mass: 0.27, at: [x, 0, z] as [number, number, number] })),
          ),
        },
      },
    },
    reasons: { ...evaluation.reasons, imbalance },
  };
}

const sentences = (...imbalance: Imbalance[]): string[] => imbalanceSentences(evaluationOf(imbalance));
const calculation = "an influence-coefficient calculation from 2 settings of 5 and 4 runs";

test("what is missing, with its interval, a mass for it, and what to expect", () => {
  expect(sentences(invented())).toEqual([
    `orbit, 1st harmonic: ${calculation} suggests that "Counterweights fitted" lacks 12 g m (95 % interval 8 to 17 g m) along (-1.00, 0.00, 0.00) of the counterweights' frame, for example by 86 g more at the mean distance of those fitted (140 mm). Synchronous rms of the vehicle as flown: 5.6 mm without, 1.2 mm with, about 0.3 mm expected after the change. This lies outside the settings flown: the straight line is stretched beyond what was seen, so go there in steps and fly each.`,
    counterweightCaution,
  ]);
});

test("too much: less mass, and nothing is stretched", () => {
  const [sentence] = sentences(
    invented({ extrapolated: false, best: [-0.0636, 0, 0] }, { value: -0.012, ci95: [-0.0174, -0.0066] }),
  );
  expect(sentence).toContain("has 12 g m too much (95 % interval 7 to 17 g m)");
  expect(sentence).toContain("86 g less at the mean distance");
  expect(sentence).not.toContain("outside the settings");
});

test("an interval that includes no change: none is suggested, and there is nothing to caution about", () => {
  expect(sentences(invented({}, { value: 0.01, ci95: [-0.0036, 0.0233] }))).toEqual([
    `orbit, 1st harmonic: no change is suggested: ${calculation} puts what "Counterweights fitted" lacks at -4 to 23 g m along (-1.00, 0.00, 0.00) of the counterweights' frame (95 % interval), which includes no change.`,
  ]);
});

describe("an influence that is not told", () => {
  const none = { value: 0, se: null, ci95: null };
  test("from 0", () => {
    expect(sentences(invented({ influence_p: 0.21 }, none))).toEqual([
      "orbit, 1st harmonic: the counterweights' influence on the vehicle is not distinguished from 0 by 2 settings of 5 and 4 runs (p 0.21), so no change is suggested.",
    ]);
  });

  test("for want of runs", () => {
    expect(sentences(invented({ influence_p: null }, none))).toEqual([
      "orbit, 1st harmonic: the counterweights' influence on the vehicle cannot be found from 2 settings of 5 and 4 runs, so no change is suggested.",
    ]);
  });

  test("for any one direction", () => {
    expect(sentences(invented({}, none))[0]).toContain(
      "is not known for any one direction by 2 settings of 5 and 4 runs (p < 0.001)",
    );
  });
});

test("further away than the settings are from one another: a direction, no size to build", () => {
  const [sentence, caution] = sentences(invented({ best: [-0.3084, 0, 0] }, { value: 0.2328, ci95: [0.1027, 0.363] }));
  expect(sentence).toContain("lacks 233 g m (95 % interval 103 to 363 g m)");
  expect(sentence).toContain("take the direction from it, not the size");
  expect(sentence).not.toMatch(/ g more|expected after/);
  expect(caution).toBe(counterweightCaution);
});

test("two directions: each with its own finding", () => {
  const two = (second: Imbalance["remaining"]["along"][number]): Imbalance => {
    const one = invented();
    return {
      ...one,
      directions: [
        [-1, 0, 0],
        [0, 0, 1],
      ],
      influence: [one.influence[0]!, one.influence[0]!],
      remaining: { ...one.remaining, along: [...one.remaining.along, second] },
    };
  };
  const [told] = sentences(two({ value: -0.0005, se: 0.0001, ci95: [-0.0007, -0.0003] }));
  expect(told).toContain(
    "lacks 12 g m (95 % interval 8 to 17 g m) along (-1.00, 0.00, 0.00) and has 500 g mm too much (95 % interval 300 to 700 g mm) along (0.00, 0.00, 1.00)",
  );
  // masses for two directions at once are for the builder to find
  expect(told).not.toContain("for example");
  const [silent] = sentences(two({ value: 0, se: null, ci95: null }));
  expect(silent).toContain("for example by 86 g more");
  expect(silent).toContain(
    "Along (0.00, 0.00, 1.00) the influence is not distinguished from 0, and nothing is suggested.",
  );
});

test("cautions stand once, whatever is suggested; trajectories that ask for different things get a word", () => {
  const lines = sentences(invented(), invented({ k: 2 }), invented({ trajectory: "reach" }));
  expect(lines).toHaveLength(5);
  expect(lines[1]).toMatch(/^orbit, 2nd harmonic: /);
  expect(lines[2]).toMatch(/^reach, 1st harmonic: /);
  expect(lines[3]).toContain("One set of counterweights serves all trajectories");
  expect(lines.filter((line) => line === counterweightCaution)).toHaveLength(1);
  for (const word of [
    "not a verdict",
    "mechanically retained",
    "weighed again",
    "jammed",
    "thrust margin",
    "hover low with the arm parked",
    "licensed practice prevail",
  ])
    expect(counterweightCaution).toContain(word);
});

test("no example mass where what is fitted balances out, or where more would have to go than there is", () => {
  expect(imbalanceSentences(evaluationOf([invented()], [0.14, -0.14]))[0]).not.toContain("for example");
  expect(sentences(invented({}, { value: -0.08, ci95: [-0.09, -0.07] }))[0]).not.toContain("for example");
});

test("nothing to tell: nothing", () => {
  expect(sentences()).toEqual([]);
});

test("names from a manifest do not steer a terminal", () => {
  for (const line of sentences(invented({ trajectory: "or\u001b[2Jbit" }))) expect(line).not.toContain("\u001b");
});

test("two trajectories whose intervals have nothing in common are said to contradict each other; that overlap are not", () => {
  const other = (ci95: [number, number]): Imbalance =>
    invented({ trajectory: "reach" }, { value: (ci95[0] + ci95[1]) / 2, ci95 });
  const says = (one: Imbalance): boolean =>
    sentences(invented(), one).some((text) => text.startsWith("orbit and reach contradict each other"));
  // orbit's is 8 to 17 g m
  expect(says(other([0.018, 0.03]))).toBe(true);
  expect(says(other([-0.004, 0.007]))).toBe(true);
  expect(says(other([0.016, 0.03]))).toBe(false);
  expect(says(other([-0.004, 0.023]))).toBe(false);
});
