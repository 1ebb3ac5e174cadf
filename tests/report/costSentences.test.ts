import { describe, expect, test } from "vitest";
import { campaignCosts } from "../../src/comparison/costs/campaignCosts.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { MovingEffect } from "../../src/contract/reasons.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { briefText } from "../../src/report/briefText.ts";
import { costText } from "../../src/report/costLines.ts";
import { costParagraphs } from "../../src/report/costParagraphs.ts";
import { costSentence } from "../../src/report/costSentences.ts";
import { textFrame } from "../../src/report/text/layout.ts";
import { inventedCampaign } from "../support/inventedCampaign.ts";
import { inventedEvaluation, inventedFamily, inventedRun } from "../support/inventedEvaluation.ts";

const frame = textFrame({ colour: false });
const configurations: Campaign["configurations"] = {
  bare: { label: "Arm alone", addedMass: null, counterweights: [] },
  weighted: { label: "Counterweights fitted", addedMass: 0.54, counterweights: [] },
};
const vehicle = { mass: 4.6, maxThrust: 92, rotors: 6, rotorDiameter: 0.33 };
const pack = { energy: 360_000, usable: 0.8, full: null, end: null, mass: null, wire: null };
const power = (mean: number) => ({ mean, why: null, voltage: 23, highest: 24, current: mean / 23, samples: 40 });
const measured = [
  ...[600, 604, 608].map((watts, i) => inventedRun({ id: `b${i}`, block: null, power: power(watts) })),
  ...[700, 706, 712].map((watts, i) =>
    inventedRun({ id: `w${i}`, configuration: "weighted", block: null, power: power(watts) }),
  ),
];

function evaluated(changes: Partial<Campaign> = {}, runs = measured): CampaignEvaluation {
  const campaign = inventedCampaign(runs, { vehicle, configurations, ...changes });
  return inventedEvaluation({ runs, costs: campaignCosts(campaign, runs, defaultSettings) });
}

describe("what stands beside the verdicts", () => {
  // 706 / 604 = 1.1689; 288 kJ over 604 and 706 W: 7.95 and 6.80 min; 92 N over 4.6 and 5.14 kg
  test("is measured power and minutes, and the margin from declared thrust", () => {
    expect(costSentence(evaluated({ battery: pack }))).toMatch(
      /^With the counterweights hover takes 16\.9 % more power \([\d.]+ to [\d.]+ %, measured\): 6\.8 min in hover instead of 7\.9; thrust to weight is 1\.83 instead of 2\.04 \(declared thrust\), below the 2 of common practice\.$/,
    );
  });

  test("leaves minutes out where the scale of the current is doubted", () => {
    const thousand = measured.map((run) => ({ ...run, power: power(1000 * run.power!.mean!) }));
    expect(costSentence(evaluated({ battery: pack }, thousand))).toMatch(
      /^With the counterweights hover takes 16\.9 % more power \([\d.]+ to [\d.]+ %, measured\); thrust/,
    );
  });

  test("is nothing that a law alone says", () => {
    const bylaw = measured.map(({ power: _, ...run }) => run);
    expect(costSentence(evaluated({ battery: pack }, bylaw))).toBe(
      "With the counterweights thrust to weight is 1.83 instead of 2.04 (declared thrust), below the 2 of common practice.",
    );
    expect(costSentence(evaluated({ battery: pack, vehicle: { ...vehicle, maxThrust: null } }, bylaw))).toBe("");
    expect(costSentence(inventedEvaluation())).toBe("");
  });

  test("says which margin is not kept, and when", () => {
    const limits = { thrustToWeight: 1.6, missionTime: null, angularAcceleration: null };
    const battery = { ...pack, full: 25.2, end: 22.5 };
    expect(costSentence(evaluated({ limits, battery }))).toContain(
      "1.83 instead of 2.04 (declared thrust), below the declared limit at the end of the battery",
    );
    expect(costSentence(evaluated({ limits: { ...limits, thrustToWeight: 1.9 } }))).toMatch(
      /, below the declared limit\.$/,
    );
    expect(costSentence(evaluated({ vehicle: { ...vehicle, maxThrust: 48 } }))).toMatch(/: it does not fly\.$/);
    const strong = { ...vehicle, maxThrust: 120 };
    expect(costSentence(evaluated({ vehicle: strong }))).toMatch(/\(declared thrust\)\.$/);
    expect(costSentence(evaluated({ vehicle: strong, battery: { ...battery, end: 20 } }))).toMatch(
      /, below the 2 of common practice at the end of the battery\.$/,
    );
  });

  test("a candidate that takes less power is said so", () => {
    const turned = measured.map((run) => ({ ...run, power: power(1300 - run.power!.mean!) }));
    expect(costSentence(evaluated({}, turned))).toMatch(
      /hover takes 14\.7 % less power \(\d+\.\d to \d+\.\d %, measured\)/,
    );
  });
});

describe("the largest mass in words", () => {
  const limits = { thrustToWeight: 1.9, missionTime: 300, angularAcceleration: null };
  test("names each limit with what it rests on, and the same grams as battery", () => {
    const [first] = costParagraphs(evaluated({ limits, battery: { ...pack, mass: 1.1 } }));
    // 92 / (1.9 x 9.80665) = 4.94 kg; 4.6 (288000 / 604 / 300)^(2/3) = 6.26 kg
    expect(first!.text).toBe(
      "The largest take-off mass that keeps the declared limits is 4.94 kg, 338 g more than the baseline.",
    );
    expect(first!.items).toEqual([
      "thrust to weight of 1.90: up to 4.94 kg (from declared thrust)",
      "mission time of 5.0 min: up to 6.26 kg (measured)",
      'the grams of "Counterweights fitted" as battery instead: 26 % longer in hover (by law)',
    ]);
  });

  test("a baseline that keeps them no more, limits without data, no limits", () => {
    const first = (changes: Partial<Campaign>): string => costParagraphs(evaluated(changes))[0]!.text;
    expect(first({ limits: { ...limits, thrustToWeight: 2.5 } })).toContain(
      "less than the baseline weighs: no counterweight keeps them",
    );
    expect(first({ limits, vehicle: { ...vehicle, maxThrust: null } })).toBe(
      "None of the declared limits can be held against a mass.",
    );
    expect(first({})).toContain("No limits are declared, so there is no largest mass");
  });
});

// 680 g move without and 143 g with 540 g of weights: (680 - 143) / 5.4 = 99 g; differences -600 to -470 g: 87 to 111 g
test("what each 100 g took away is the slope through the settings flown; sham and moved parts are no setting of added grams", () => {
  const side = (mean: number) => ({ mean, ci95: null }) as MovingEffect["configurations"][string];
  const effect = (configurations: MovingEffect["configurations"]): MovingEffect =>
    ({
      trajectory: "reach",
      axis: "x",
      harmonic: 1,
      unit: "kg",
      configurations,
      contrasts: { weighted: { difference: { value: -0.537, ci95: [-0.6, -0.47] } } },
    }) as unknown as MovingEffect;
  const said = (sides: MovingEffect["configurations"], more: Campaign["configurations"] = {}): string[] => {
    const evaluation = evaluated({ configurations: { ...configurations, ...more } });
    evaluation.settings.sham = "ballast";
    evaluation.reasons.moving = [effect(sides)];
    return costParagraphs(evaluation)
      .filter(({ text }) => text.startsWith("Of what moves"))
      .flatMap(({ items }) => items);
  };
  const both = { bare: side(0.68), weighted: side(0.143) };
  expect(said(both)).toEqual(["reach, along x: 99 g (87 to 111 g)"]);
  const ballast = { label: "Same mass", addedMass: 0.54, counterweights: [] };
  expect(said({ ...both, ballast: side(0.7) }, { ballast })).toEqual(["reach, along x: 99 g (87 to 111 g)"]);
  // a third setting of 270 g halfway in mass and in what it takes away lies on the same line
  const half = { label: "Half", addedMass: 0.27, counterweights: [] };
  expect(said({ ...both, half: side(0.4115) }, { half })).toEqual(["reach, along x: 99 g, a line through 3 settings"]);
  expect(said({ bare: side(0.68) })).toEqual([]);
});

// 270 g by 180 mm: 4.6 kg shift by 10.6 mm; 2 % of 270 g are 5.4 g, times 1.07 x 75 mm 0.43 g m
test("a moved battery is said with its caution, its shift, and what packs differ by", () => {
  const battery = {
    mass: 0.27,
    at: [-0.14, 0, 0],
    movedFrom: [0.04, 0, 0],
    travel: [-1.07, 0, 0],
    function: "battery",
  } as const;
  const moved = { label: "Battery moved", addedMass: null, counterweights: [battery] };
  const trajectories: Campaign["trajectories"] = {
    orbit: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 10 },
  };
  const evaluation = evaluated({ configurations: { bare: configurations.bare!, weighted: moved }, trajectories });
  const said = costParagraphs(evaluation).find(({ text }) => text.includes("moved by 180 mm"))!;
  expect(said.text).toContain(
    "battery of 270 g, moved by 180 mm, adds no mass. A moved battery's plug or lead that comes loose",
  );
  expect(said.items).toEqual([
    "it moves the centre of mass of the whole by -10.6 mm along x, 0.0 mm along y and 0.0 mm along z",
    "the longer lead's voltage drop needs `battery: wire`, a logged current, and `function: battery`",
    "packs of one kind differ by some 5.4 g (2 %, house value): that alone makes a moving moment of 0.43 g m at the widest travel",
  ]);
});

describe("on the terminal", () => {
  test("every figure stands with its interval and its source, cautions beneath, in 80 columns", () => {
    const lines = costText(evaluated({ battery: pack }), frame);
    const said = lines.join("\n");
    expect(said).toMatch(/hover power, W\n {2}Arm alone +604 +594 to 614 +measured\n {2}Counterweights fitted +706/);
    expect(said).toMatch(/hover power of ideal rotors, W\n {2}Arm alone +270 +– +by law/);
    expect(said).toContain("note thrust-below-two");
    expect(said.replace(/\s+/g, " ")).toContain("Local aviation rules, site procedures and licensed practice prevail.");
    expect(said.replace(/\s+/g, " ")).toContain("land with charge left");
    expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(80);
    expect(costText(inventedEvaluation(), frame)).toEqual([]);
  });

  test("the one screen stays one screen with it, however much there is to say", () => {
    const cells = inventedFamily(
      Array.from({ length: 9 }, (_, k) => `trajectory-${k + 1}`),
      () => ({ verdict: "steadier", mm: [-103.63, -204.43, -2.83], fragile: ["one"] }),
    );
    const lost = Array.from({ length: 40 }, (_, k) =>
      inventedRun({ id: `run-${k}`, used: false, excluded_because: `reason ${k}` }),
    );
    const { costs } = evaluated({ battery: pack });
    const text = briefText(
      inventedEvaluation({ title: "long ".repeat(99), cells, runs: [...measured, ...lost], costs }),
      frame,
    );
    expect(text.split("\n").length - 1).toBeLessThanOrEqual(43);
    expect(text).toContain("With the counterweights hover takes 16.9 % more power");
    expect(text.replace(/\s+/g, " ")).toContain("below the 2 of common practice");
  });
});
