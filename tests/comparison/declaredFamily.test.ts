import { describe, expect, test } from "vitest";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

// millimetres; along y of the effector the sides are apart by 1.6 with a spread of 0.8, elsewhere by nothing
const spread = [-1.1, -0.4, 0.2, 0.3, 1];
const runs = inventedRuns(
  (["bare", "weighted"] as const).flatMap((configuration) =>
    spread.map((off, i) => ({
      configuration,
      value: ({ subject, axis }: { subject: string; axis: string }) => {
        const gain = configuration === "weighted" && subject === "effector" && axis === "y" ? -1.6 : 0;
        // another order of the same numbers on each cell: no two cells are the same test
        return 0.001 * (20 + gain + spread[(i + axis.length + subject.length) % 5]! + 0.01 * off);
      },
    })),
  ),
);
const cells = (family?: Campaign["family"]) =>
  compareCampaign(inventedCampaign(runs, family === undefined ? {} : { family }), runs, defaultSettings);
const at = (own: ReturnType<typeof cells>, subject: string, axis: string) =>
  own.find((cell) => cell.subject === subject && cell.axis === axis && cell.metric === "rms")!;

describe("a family that the manifest declares", () => {
  const all = cells();
  const two = cells([{ trajectory: "orbit", subject: "effector", axes: ["y", "z"] }]);

  test("holds these cells alone, first; the others of the primary measure are shown without a verdict", () => {
    expect(two.filter((cell) => cell.in_family).map(({ subject, axis }) => `${subject} ${axis}`)).toEqual([
      "effector y",
      "effector z",
    ]);
    expect(two.slice(0, 2).every((cell) => cell.in_family)).toBe(true);
    const left = at(two, "vehicle", "x");
    expect(left).toMatchObject({ in_family: false, verdict: null, p_family: null, runs_needed: null });
    expect(left.difference).toBe(at(all, "vehicle", "x").difference);
    expect(two).toHaveLength(all.length);
  });

  test("shares the error among them only: Holm's factor is their number (exact: the smaller of two p's doubles)", () => {
    const [own, wide] = [at(two, "effector", "y"), at(all, "effector", "y")];
    expect(own.p).toBe(wide.p);
    expect(own.p_family! / own.p!).toBeCloseTo(2, 12);
    expect(wide.p_family! / wide.p!).toBeCloseTo(6, 12);
    expect([own.verdict, wide.verdict]).toEqual(["steadier", "within the noise"]);
  });

  test("takes fewer runs for the same power", () => {
    const [own, wide] = [at(two, "effector", "z"), at(all, "effector", "z")];
    expect(own.runs_needed!.middle).toBeLessThan(wide.runs_needed!.middle);
  });

  test("without axes is all that the measure has; of a measure over all axes, that one number", () => {
    const whole = cells([{ trajectory: "orbit", subject: "vehicle", axes: null }]);
    expect(whole.filter((cell) => cell.in_family).map(({ axis }) => axis)).toEqual(["x", "y", "z"]);
  });
});
