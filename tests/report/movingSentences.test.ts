import { describe, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { type MovingEffect, movingEffectSchema, type SynchronousEffect } from "../../src/contract/reasons.ts";
import { evaluationText } from "../../src/report/evaluationText.ts";
import { balanceSentence, movingSentences } from "../../src/report/movingSentences.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";

const side = (mean: number, half: number, expected: number | null, mass: number) => ({
  n: 4,
  mean,
  sd: half / 1.6,
  ci95: [mean - half, mean + half],
  imaginary: 0.001,
  imaginary_ci: [-0.01, 0.01],
  expected,
  expected_se: expected === null ? null : 0.003,
  mass,
  values: [mean, mean, mean, mean],
  runs: ["run-1", "run-2", "run-3", "run-4"],
  checks: [],
});

/** 680 g move along x without and 102 g with weights of 540 g that take 1.07 g away per gram; invented. */
function invented(changes: Partial<MovingEffect> = {}): MovingEffect {
  return movingEffectSchema.parse({
    trajectory: "reach",
    axis: "x",
    harmonic: 1,
    unit: "kg",
    configurations: { bare: side(0.68, 0.03, 0.68, 4.6), weighted: side(0.143, 0.05, 0.102, 5.14) },
    contrasts: {
      weighted: {
        difference: { value: -0.537, ci95: [-0.6, -0.47] },
        ratio: { value: 0.21, ci95: [0.04, 0.38], expected: 0.15 },
      },
    },
    remaining: {
      value: 0.143,
      ci95: [0.093, 0.193],
      per_weight: 1.07,
      per_weight_ci95: [1.07, 1.07],
      source: "declared",
      fitted: 0.54,
      more: 0.1336,
      more_ci95: [0.087, 0.18],
      further: null,
      further_ci95: null,
      why_not: null,
    },
    budget: [
      { what: "mass of the whole, 0.5 %", effect: 0.0034, cancels: true },
      { what: "air and noise of the capture, of the mean over these runs", effect: 0.01, cancels: false },
    ],
    ...changes,
  });
}

function said(effects: MovingEffect[], changes: Partial<CampaignEvaluation> = {}): string[] {
  const evaluation = inventedEvaluation(changes);
  const paragraphs = movingSentences({ ...evaluation, reasons: { ...evaluation.reasons, moving: effects } });
  return paragraphs.map(({ text, items }) => [text, ...items].join("\n- "));
}

describe("what the counterweights did, in words", () => {
  test("the share taken away with its interval and what it should be, what is left, and which weight to change", () => {
    const [first, , ...others] = said([invented()]);
    expect(first).toBe(
      [
        "reach, along x: as flown, the counterweights took away 79 % (62 to 96 %) of what moves; by their masses and places it should be 85 %.",
        "Left are 143 g (95 % interval 93 to 193) of 680 g (95 % interval 650 to 710).",
        "To take that away, the weights fitted (540 g) would have to be 134 g heavier (95 % interval 87 g to 180 g) at the same places.",
        "Besides, the grams may be off by as much as this, which nearly cancels in the share: 3.4 g by mass of the whole, 0.5 %.",
      ].join("\n- "),
    );
    expect(others).toHaveLength(1);
    expect(others[0]).toMatch(/^Before any change: counterweights mechanically retained/);
  });

  test("balance and mass share a difference by what is left, whichever way, and only where both lie along the same axes", () => {
    const amplitude = { subject: "vehicle", trajectory: "orbit", axis: "x", k: 1, baseline: { amplitude: 0.01 } };
    const synchronous = [{ ...amplitude, candidate: { amplitude: 0.003 } }] as unknown as SynchronousEffect[];
    const over = invented({
      trajectory: "orbit",
      contrasts: {
        weighted: {
          difference: { value: -0.85, ci95: [-0.9, -0.5] },
          ratio: { value: -0.25, ci95: [-0.3, 0.1], expected: null },
        },
      },
    } as unknown as Partial<MovingEffect>);
    const split = (yaw: number): string | undefined => {
      const { runs, reasons, ...rest } = inventedEvaluation();
      const heading = { yaw, source: "setpoint" as const, taken_out: null };
      const turned = runs.map((run) => ({ ...run, heading }));
      const paragraphs = movingSentences({
        ...rest,
        runs: turned,
        reasons: { ...reasons, synchronous, moving: [over] },
      });
      return paragraphs.flatMap(({ items }) => items).find((item) => item.startsWith("Of the vehicle's amplitude"));
    };
    // exact arithmetic: 10 mm times 4.6 / 5.14, times 0.25 - 1, 0 - 1 and 0.3 - 1; and 10 mm times 4.6 / 5.14 - 1
    expect(split(0)).toContain("balance makes -6.71 mm (-8.95 to -6.26 mm) and mass -1.05 mm");
    expect(split(Math.PI / 2)).toBeUndefined();
  });

  test("over-balanced, balanced, not acting along an axis, and no limits are four different sentences", () => {
    const contrast = (value: number, ci95: [number, number] | null): Partial<MovingEffect> => ({
      contrasts: { weighted: { difference: { value: -0.5, ci95: null }, ratio: { value, ci95, expected: null } } },
    });
    expect(said([invented(contrast(-0.15, [-0.3, -0.02]))])[0]).toContain(
      "took away 115 % (102 to 130 %) of what moves, over-balanced by 15 %.",
    );
    expect(said([invented(contrast(0.2, null))])[0]).toContain(
      "the runs set no limits to the share that the counterweights took away.",
    );
    const remaining = invented().remaining!;
    const near = { remaining: { ...remaining, ci95: [-0.02, 0.05] as [number, number] } };
    expect(said([invented({ ...contrast(0.02, [-0.03, 0.07]), ...near })])[0]).toContain(
      "That may be balanced: the interval includes zero, and no change is suggested.",
    );
    // the share of the same runs leaves out full balance
    expect(said([invented(near)])[0]).toContain("That is at the edge of what these runs show");
    const idle = {
      ...remaining,
      more: null,
      more_ci95: null,
      value: 0.598,
      per_weight: 0.152,
      why_not: "these weights hardly act along this axis, and nothing is worth bolting on for it",
    };
    const sentences = said([invented({ remaining: idle })]);
    expect(sentences[0]).toContain(
      "Each gram of weight takes away 0.15 g, and 598 g are left: these weights hardly act along this axis, and nothing is worth bolting on for it.",
    );
    // no change is suggested, so no caution
    expect(sentences.join(" ")).not.toContain("Before any change");
  });

  test("weights on the wrong side move the vehicle more: nothing is called taken away, and no such weight is suggested", () => {
    const wrong = invented({
      configurations: { bare: side(0.4, 0.02, 0.4, 4.6), weighted: side(0.764, 0.03, null, 5.14) },
      contrasts: {
        weighted: {
          difference: { value: 0.364, ci95: [0.33, 0.4] },
          ratio: { value: 1.91, ci95: [1.8, 2.02], expected: null },
        },
      },
      remaining: {
        ...invented().remaining!,
        value: 0.764,
        ci95: [0.73, 0.79],
        per_weight: -0.67,
        more: null,
        more_ci95: null,
      },
    } as unknown as Partial<MovingEffect>);
    const doubted = structuredClone(wrong);
    doubted.configurations.weighted!.checks.push({ code: "moment-reversed", message: "the arm moves it more" });
    expect(said([wrong])[0]!.split("\n- ").slice(0, 3)).toEqual([
      "reach, along x: as flown, the counterweights added 91 % (80 to 102 %) to what moves.",
      "With them 764 g (95 % interval 734 to 794) move, without them 400 g (95 % interval 380 to 420).",
      "Each gram of weight adds 0.67 g: no change of these weights is suggested.",
    ]);
    const evaluation = inventedEvaluation();
    expect(balanceSentence({ ...evaluation, reasons: { ...evaluation.reasons, moving: [doubted, invented()] } })).toBe(
      "Of what moves, the counterweights took away 79 % (62 to 96 %, expected 85 %) along x in reach. " +
        "With the counterweights the arm moves the vehicle by 91 % more (80 to 102 %; doubted: moment-reversed) along x in reach.",
    );
  });

  test("an axis is named as the errors beside it, and as the vehicle's own where the vehicle does not face along it", () => {
    const { runs, settings, reasons, ...rest } = inventedEvaluation();
    const place = (yaw: number, taken_out: number | null, axes: "world" | "heading"): string => {
      const heading = { yaw, source: "setpoint" as const, taken_out };
      const judged_in = { ...settings.judged_in, reach: { ...Object.values(settings.judged_in)[0]!, axes } };
      const [first] = movingSentences({
        ...rest,
        settings: { ...settings, judged_in, axis_names: { x: "towards the wall", y: null, z: null } },
        runs: runs.map((run) => ({ ...run, trajectory: "reach", heading })),
        reasons: { ...reasons, moving: [invented()] },
      });
      return first!.text.slice(0, first!.text.indexOf(":"));
    };
    expect(place(0, null, "world")).toBe("reach, along x (towards the wall)");
    expect(place(Math.PI / 2, null, "world")).toBe("reach, along the vehicle's x");
    expect(place(Math.PI / 2, Math.PI / 2, "heading")).toBe("reach, along the forward axis");
  });

  test("of runs that show nothing it is said why; and of none at all nothing but that", () => {
    const base = inventedEvaluation();
    const runs = base.runs.map((run, i) => ({
      ...run,
      moving_missing: i < 2 ? "the vehicle hung on a tether under tension" : null,
    }));
    expect(said([], { runs })).toEqual([
      "What moves cannot be said of runs run-1 and run-2: the vehicle hung on a tether under tension.",
    ]);
    expect(said([])).toEqual([]);
  });

  test("it is said first under Why, and displacement's own suggestion is not said beside it", () => {
    const evaluation = inventedEvaluation();
    const text = evaluationText(
      { ...evaluation, reasons: { ...evaluation.reasons, moving: [invented()] } },
      { width: 100, colour: false },
    );
    const lines = text.slice(text.indexOf("\nWhy\n") + 1).split("\n");
    expect(lines[0]).toBe("Why");
    expect(lines[1]).toMatch(/^reach, along x: as flown, the counterweights took away 79 %/);
    expect(lines.slice(2).find((line) => line.startsWith("- "))).toBe(
      "- Left are 143 g (95 % interval 93 to 193) of 680 g (95 % interval 650 to 710).",
    );
    expect(lines.join("\n")).toMatch(/Counterweights fitted +4 +143 +93 to 193 +102 +1/);
  });

  test("weights of which the distance from their pivots is declared could sit further out instead", () => {
    const remaining = { ...invented().remaining!, further: 0.025, further_ci95: [0.01, 0.04] as [number, number] };
    expect(said([invented({ remaining })])[0]).toContain(
      " at the same places, or sit 25 mm further from their pivots.",
    );
  });

  test("the answer names each share with its interval and what is expected, and nothing where no share has limits", () => {
    const evaluation = inventedEvaluation();
    const answer = (moving: MovingEffect[]): string =>
      balanceSentence({ ...evaluation, reasons: { ...evaluation.reasons, moving } });
    expect(answer([invented(), invented({ axis: "y", trajectory: "orbit" })])).toBe(
      "Of what moves, the counterweights took away 79 % (62 to 96 %, expected 85 %) along x in reach and 79 % (62 to 96 %, expected 85 %) along y in orbit.",
    );
    expect(answer([])).toBe("");
    const unlimited = { difference: { value: -0.5, ci95: null }, ratio: { value: 0.2, ci95: null, expected: null } };
    expect(answer([invented({ contrasts: { weighted: unlimited } })])).toBe("");
  });
});
