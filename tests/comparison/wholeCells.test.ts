import { readFileSync } from "node:fs";
import { beforeAll, expect, test } from "vitest";
import type { Verdict } from "../../src/catalogue/verdicts.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { type Cell, cellSchema } from "../../src/contract/cell.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { type Axis, axes, type Subject } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { type InventedRun, inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { runPython } from "../support/run.ts";

/** What the Python program gives for a cell; all of it null but counts where nothing can be tested. */
interface Expected {
  readonly n: readonly [number, number];
  readonly mean: readonly (number | null)[];
  readonly sd: readonly (number | null)[];
  readonly difference?: number;
  readonly se?: number;
  readonly df?: number;
  readonly method?: string;
  readonly p: number | null;
  readonly ci95?: [number, number];
  readonly ci90?: [number, number];
  readonly p_equivalence?: number;
  readonly p_permutation?: number;
  readonly p_least?: number;
  readonly arrangements?: number;
  readonly pair?: { sd: number; df: number; limit: number } | null;
  readonly p_family: number;
  readonly verdict: Verdict;
}

const subjectsOfFamily = ["vehicle", "effector"] as const;
const margin = 0.0015;

/** Trajectories by how their runs lie: runs of baseline and candidate, block by block; null: no blocks. */
const days: Readonly<Record<string, readonly (readonly [number, number])[] | null>> = {
  plain: null,
  mixed: [
    [2, 2],
    [2, 2],
  ],
  uneven: [
    [2, 1],
    [2, 1],
    [1, 2],
  ],
  partly: [
    [2, 2],
    [1, 1],
    [2, 0],
  ],
  apart: [
    [4, 0],
    [0, 4],
  ],
  one: [
    [3, 3],
    [1, 0],
  ],
  scarce: [[2, 2]],
  pairs: [
    [1, 1],
    [1, 1],
    [1, 1],
    [1, 1],
  ],
};

/** What the candidate adds to 6 mm, by subject and axis: steadier, nothing, a little, much less steady. */
const effects: Readonly<Record<string, number>> = {
  "vehicle x": -0.0042,
  "vehicle y": 0,
  "vehicle z": -0.0004,
  "effector x": 0.0045,
  "effector y": -0.001,
  "effector z": 0,
};
const spreads: Readonly<Record<string, number>> = { "vehicle x": 0.0003, "vehicle y": 0.0002, "effector x": 0.0004 };

function inventedDay(): { runs: InventedRun[]; asked: unknown } {
  const random = seededRandom(2026);
  const runs: InventedRun[] = [];
  const asked: unknown[] = [];
  for (const [trajectory, layout] of Object.entries(days)) {
    for (const [b, counts] of (layout ?? [[5, 4]]).entries()) {
      const block = layout === null ? null : `${trajectory}-${b + 1}`;
      const shift = 0.0005 * random.normal();
      for (const configuration of ["bare", "weighted"] as const) {
        for (let i = 0; i < counts[Number(configuration === "weighted")]!; i++) {
          const values: Record<string, number> = {};
          for (const subject of ["vehicle", "effector", "arm"]) {
            for (const axis of axes) {
              const key = `${subject} ${axis}`;
              const effect = configuration === "weighted" ? (effects[key] ?? 0) : 0;
              values[key] = 0.008 + shift + effect + (spreads[key] ?? 0.001) * random.normal();
            }
          }
          runs.push({
            trajectory,
            configuration,
            block,
            value: ({ subject, axis }: { subject: Subject; axis: Axis }) => values[`${subject} ${axis}`]!,
          });
          asked.push({ trajectory, candidate: configuration === "weighted", block, values });
        }
      }
    }
  }
  return { runs, asked: { runs: asked, margin, trajectories: Object.keys(days) } };
}

const blocks = new Map(inventedDay().runs.map(({ block }, i) => [`run-${i + 1}`, block]));

/** Mean of the baseline's runs that the difference is taken from: within blocks, those of blocks that hold both. */
function baselineTaken({ method, baseline, candidate }: Cell): number {
  const shared = new Set(candidate.runs.map((id) => blocks.get(id)));
  const values = baseline.values.filter((_, i) => method === "welch" || shared.has(blocks.get(baseline.runs[i]!)));
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

describeWith(["scipy"], "every figure of every cell of an invented campaign, computed a second time in Python", () => {
  let cells: Cell[];
  let expected: Expected[];
  beforeAll(() => {
    const { runs: wanted, asked } = inventedDay();
    const runs = inventedRuns(wanted);
    const { orbit, ...trajectories } = inventedCampaign(runs).trajectories;
    cells = compareCampaign(inventedCampaign(runs, { trajectories }), runs, defaultSettings).filter(
      (cell) => cell.in_family,
    );
    expected = runPython<Expected[]>(readFileSync(new URL("wholeCells.py", import.meta.url), "utf8"), asked);
  });

  test("the family holds every trajectory, subject and axis, in that order", () => {
    expect(cells.map(({ trajectory, subject, axis }) => `${trajectory} ${subject} ${axis}`)).toEqual(
      Object.keys(days).flatMap((trajectory) =>
        subjectsOfFamily.flatMap((subject) => axes.map((axis) => `${trajectory} ${subject} ${axis}`)),
      ),
    );
    for (const cell of cells) expect(() => cellSchema.parse(cell)).not.toThrow();
  });

  const figures = ["difference", "se", "df", "p", "p_equivalence", "p_permutation", "p_least", "arrangements"] as const;
  test.each([...figures, "p_family"] as const)("%s agrees to nine digits", (name) => {
    for (const [i, cell] of cells.entries()) {
      const wanted = expected[i]![name] ?? null;
      const place = `${cell.trajectory} ${cell.subject} ${cell.axis}`;
      if (wanted === null || cell[name] === null) expect(cell[name], place).toBe(wanted);
      // a difference is what is left of values of 8 mm
      else expect(Math.abs(cell[name] - wanted), place).toBeLessThan(1e-9 * Math.max(Math.abs(wanted), 1e-3));
    }
  });

  test("counts, means, spreads, intervals, ratio, pair limit and method agree", () => {
    for (const [i, cell] of cells.entries()) {
      const wanted = expected[i]!;
      const place = `${cell.trajectory} ${cell.subject} ${cell.axis}`;
      expect([cell.baseline.n, cell.candidate.n], place).toEqual(wanted.n);
      const pairs: [number | null | undefined, number | null | undefined][] = [
        [cell.baseline.mean, wanted.mean[0]],
        [cell.candidate.mean, wanted.mean[1]],
        [cell.baseline.sd, wanted.sd[0]],
        [cell.candidate.sd, wanted.sd[1]],
        ...([0, 1] as const).flatMap((end): [number | undefined, number | undefined][] => [
          [cell.ci95?.[end], wanted.ci95?.[end]],
          [cell.ci90?.[end], wanted.ci90?.[end]],
        ]),
        [cell.ratio, wanted.difference! / baselineTaken(cell)],
        [cell.pair?.sd, wanted.pair?.sd],
        [cell.pair?.df, wanted.pair?.df],
        [cell.pair?.limit, wanted.pair?.limit],
      ];
      expect(cell.method).toBe(wanted.method);
      expect(cell.pair === null, place).toBe(wanted.pair === null);
      for (const [found, value] of pairs) {
        if (found === undefined || found === null) expect(value ?? null, place).toBeNull();
        // SciPy's t quantile at a fraction of a degree of freedom is good to 1e-8; againstR.test.ts asks for 1e-10 of R's
        else expect(Math.abs(found - value!), place).toBeLessThan(1e-8 * Math.max(Math.abs(value!), 1e-3));
      }
    }
  });

  test("the verdicts agree, and all five occur", () => {
    expect(cells.map(({ verdict }) => verdict)).toEqual(expected.map(({ verdict }) => verdict));
    expect(new Set(cells.map(({ verdict }) => verdict)).size).toBe(5);
    for (const cell of cells) expect(cell.verdict_all_runs).toBe(cell.verdict);
  });

  test("the 90 % interval lies inside the smallest difference exactly where the equivalence p is below 0.05", () => {
    for (const { ci90, p_equivalence } of cells) {
      if (ci90 !== null) expect(Math.max(-ci90[0], ci90[1]) < margin).toBe(p_equivalence! < 0.05);
    }
  });
});
