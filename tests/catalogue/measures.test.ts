import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, test } from "vitest";
import { measureAxes, measureIds, measureOf, measureUnits } from "../../src/catalogue/measures.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { evaluationText } from "../../src/report/evaluationText.ts";
import { cellsTable } from "../../src/report/paper/csvTables.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";

const root = resolve(import.meta.dirname, "../..");

test("the manual's table of measures is the catalogue's", () => {
  const text = readFileSync(join(root, "client/manual/manifest.md"), "utf8");
  const rows = [...text.matchAll(/^\| `([a-z0-9]+)` \| (.+) \| (.+) \| (lower|higher) \| (.+) \|$/gm)].map((row) =>
    row.slice(1),
  );
  expect(rows).toEqual(
    measureIds.map((id) => {
      const { label, unit, steadier, along } = measureOf(id);
      return [id, label, measureUnits[unit].shown, steadier, along === "axes" ? "x, y, z" : "overall"];
    }),
  );
});

/** Five runs of each; the candidate's numbers are half as large, and all are of the one measure alone. */
const halved = [0, 1, 2, 3, 4].flatMap((i) => [
  { configuration: "bare", value: 0.02 + 1e-4 * i },
  { configuration: "weighted", value: 0.01 + 1e-4 * i },
]);
const runsWith = (change: (value: number) => object) =>
  inventedRuns(halved).map((run) => ({ ...run, ...change(run.tracking.cycles!.vehicle!.x.rms) }));

describe.each([
  // what a run holds, and what the board then reads: 0.5 of 0.02 is -0.01 in SI
  ["tilt", (v: number) => ({ attitude: { ...angles, tilt: { rms: v } } }), "steadier", /-0\.573 \[/, "deg"],
  ["within", (v: number) => ({ within: { cycles: { vehicle: v }, hold: null } }), "less steady", /-1\.0 \[/, "%"],
  [
    "r95",
    (v: number) => ({ hold: { vehicle: { ...hover, about_mean: { r50: v, r95: v } } } }),
    "steadier",
    /-10\.00 \[/,
    "mm",
  ],
  [
    "contour",
    (v: number) => ({ path: { vehicle: { ...path, contour: { ...path.contour, rms: v } } } }),
    "steadier",
    /-10\.00 \[/,
    "mm",
  ],
] as const)("%s as the primary measure", (id, change, verdict, board, unit) => {
  const runs = runsWith(change);
  const campaign = inventedCampaign(runs, {
    primary: id,
    smallestDifference: { vehicle: 1e-4, effector: 1e-4, arm: null },
  });
  const cells = compareCampaign(campaign, runs, defaultSettings);
  const cell = cells.find((each) => each.in_family && each.subject === "vehicle" && each.axis === "norm")!;

  test("has one cell per subject, in its unit, with the verdict that its direction asks for", () => {
    expect(measureAxes(id)).toEqual(["norm"]);
    expect(cells.filter((each) => each.in_family).map((each) => [each.metric, each.axis])).toEqual(
      id === "tilt"
        ? [[id, "norm"]]
        : [
            [id, "norm"],
            [id, "norm"],
          ],
    );
    expect(cell).toMatchObject({ unit: measureOf(id).unit, verdict });
    // the values themselves: 0.0102 less 0.0202
    expect(cell.difference).toBeCloseTo(-0.01, 12);
    expect(cell.baseline.mean).toBeCloseTo(0.0202, 12);
  });

  test("is read in its unit on the terminal and named in the table", () => {
    const evaluation = inventedEvaluation({ runs, cells });
    const settings = { ...evaluation.settings, primary: id };
    const text = evaluationText({ ...evaluation, settings }, { width: 100, colour: false, notes: false, audit: false });
    expect(text).toMatch(board);
    const running = text.replace(/\s+/g, " ");
    expect(running).toContain(`${unit} with 95 % interval; ${id === "within" ? "positive" : "negative"} is steadier`);
    expect(running).toContain(`the vehicle is ${verdict} in orbit (${measureOf(id).label} about `);
    const [head, row] = cellsTable({ ...evaluation, cells: [cell] })
      .split("\n")
      .map((line) => line.split(","));
    expect(row![head!.indexOf("unit")]).toBe(measureOf(id).unit);
    expect(Number(row![head!.indexOf("difference")])).toBeCloseTo(-0.01, 12);
  });
});

const angle = { sd: 0, rms: 0, harmonics: null };
const angles = { roll: angle, pitch: angle, yaw: angle };
const drift = {
  bias: 0,
  sd: 0,
  slope: null,
  slope_se: null,
  slope_ci: null,
  end_minus_start: null,
  sd_low: null,
  sd_high: null,
};
const hover = { x: drift, y: drift, z: drift, about_setpoint: { r50: 0, r95: 0 } };
const path = {
  cycles: 10,
  cycles_left_out: 0,
  window: 1,
  contour: { rms: 0, mean: 0, p95: 0, max: 0, x: 0, y: 0, z: 0, behind: 0, edge_share: 0 },
  accuracy: null,
  repeatability: null,
  points: 0,
  points_of: 0,
  velocity: null,
};

describe("the manifest", () => {
  const sample = readFileSync(join(root, "sample-data/campaign.yaml"), "utf8")
    .replace(/^smallest_difference:.*\n/m, "")
    .replace(/^primary:.*\n/m, "")
    .replace(/^bench:\n(?: .*\n)+/m, "");
  const read = (lines: string) => readCampaign(`${lines}\n${sample}`, { file: "campaign.yaml", readText: () => "" });

  test("takes the smallest difference in the unit of the primary measure", async () => {
    expect((await read("primary: tilt\nsmallest_difference: 0.2 deg")).smallestDifference.vehicle).toBeCloseTo(
      Math.PI / 900,
      15,
    );
    expect(
      (await read("primary: within\ntolerance: 20 mm\nsmallest_difference: { vehicle: 5 % }")).smallestDifference,
    ).toEqual({
      vehicle: 0.05,
      effector: null,
      arm: null,
    });
    expect((await read("primary: r95\nsmallest_difference: 1.5 mm")).smallestDifference.vehicle).toBe(0.0015);
  });

  test("refuses it in another unit, and a share within nothing", async () => {
    await expect(read("primary: tilt\nsmallest_difference: 1.5 mm")).rejects.toThrow(
      /found "1.5 mm", which is a length, expected an angle/,
    );
    await expect(read("primary: rms\nsmallest_difference: 0.2 deg")).rejects.toThrow(
      /which is an angle, expected a length/,
    );
    await expect(read("primary: within\ntolerance: 20 mm\nsmallest_difference: 1.5 mm")).rejects.toThrow(
      /expected a share such as 5 %/,
    );
    await expect(read("primary: within\nsmallest_difference: 5 %")).rejects.toThrow(/within without a tolerance/);
  });
});
