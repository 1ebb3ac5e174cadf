import { describe, expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { campaignOf, judged, undeclared } from "../support/movingFlights.ts";

describe("a candidate of which no counterweights are listed", () => {
  const weighted = { label: "weighted", addedMass: 0.54, counterweights: [] };
  const unlisted = { ...undeclared, configurations: { ...undeclared.configurations, weighted } };
  const codes = (runs: RunEvaluation[]): string[] =>
    judged(runs, unlisted).flatMap(({ axis, configurations }) =>
      Object.entries(configurations).flatMap(([name, { checks }]) =>
        checks.map(({ code }) => `${name} ${axis} ${code}`),
      ),
    );
  const runs = campaignOf(seededRandom(11));

  test("is searched for exchanged runs all the same", () => {
    expect(codes(runs)).toEqual([]);
    const exchanged = runs.map((run) => ({
      ...run,
      configuration: run.configuration === "bare" ? "weighted" : "bare",
    }));
    expect(codes(exchanged)).toEqual(["weighted x moment-reversed", "weighted y moment-reversed"]);
  });

  test("may move against the arm where it is over-balanced; the arm alone may not", () => {
    const against = (name: string): RunEvaluation[] =>
      runs.map((run) => {
        const moving = structuredClone(run.moving)!;
        if (run.configuration === name)
          for (const each of moving.x!)
            each.apparent_mass = each.apparent_mass!.map((part) => -part) as [number, number];
        return { ...run, moving };
      });
    expect(codes(against("weighted")).filter((code) => code.includes("phase"))).toEqual([]);
    expect(codes(against("bare"))).toContain("bare x moment-phase");
  });
});
