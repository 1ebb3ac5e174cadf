import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { defaultSettings, type Settings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { missing } from "../support/available.ts";
import { type InventedRun, inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

const seed = 20_263;
// each of them judges a campaign or two, a tenth of a second each
const numRuns = missing("slow") === null ? 60 : 15;
// a drawn p is looked at with few draws, so that the properties stay quick
const settings: Settings = { ...defaultSettings, exact_arrangements: 400, drawn_arrangements: 500 };

interface Day {
  /** runs of baseline and candidate by block */
  readonly layout: readonly (readonly [number, number])[];
  readonly seed: number;
  /** what the candidate adds, in run-to-run standard deviations */
  readonly effect: number;
  readonly blocks: number;
}

const counts = fc.tuple(fc.integer({ min: 0, max: 4 }), fc.integer({ min: 0, max: 4 }));
const anyDay: fc.Arbitrary<Day> = fc.record({
  layout: fc.array(counts, { minLength: 1, maxLength: 4 }),
  seed: fc.integer({ min: 1, max: 1e6 }),
  effect: fc.constantFrom(0, -1, 4, -8),
  blocks: fc.constantFrom(0, 2),
});

/** Runs of one trajectory whose numbers differ by subject and axis; one block: none declared. */
function runsOfDay({ layout, seed: own, effect, blocks }: Day): InventedRun[] {
  const random = seededRandom(own);
  return layout.flatMap((sides, b) => {
    const shift = 0.0005 * blocks * random.normal();
    return sides.flatMap((n, side) =>
      Array.from({ length: n }, (): InventedRun => {
        const values = new Map<string, number>();
        for (const subject of ["vehicle", "effector", "arm"]) {
          for (const axis of ["x", "y", "z"]) {
            values.set(
              subject + axis,
              0.02 + shift + 0.0005 * (side * effect * (axis === "y" ? 0 : 1) + random.normal()),
            );
          }
        }
        return {
          configuration: side === 0 ? "bare" : "weighted",
          block: layout.length === 1 ? null : `day ${b + 1}`,
          value: ({ subject, axis }) => values.get(subject + axis)!,
        };
      }),
    );
  });
}

const named = (runs: readonly InventedRun[]): (InventedRun & { id: string })[] =>
  runs.map((run, i) => ({ ...run, id: `run-${i + 1}` }));

function judge(wanted: readonly InventedRun[], changes: Parameters<typeof inventedCampaign>[1] = {}): Cell[] {
  const runs = inventedRuns(wanted);
  return compareCampaign(inventedCampaign(runs, changes), runs, settings);
}

/** Two sets of numbers that rounding may part in the twelfth digit (of the values, 20 mm). */
function expectClose(found: unknown, expected: unknown, place: string): void {
  if (typeof expected === "number" && typeof found === "number") {
    const scale = Math.max(1e-3, Math.abs(expected));
    expect(Math.abs(found - expected), `${place}: ${found} for ${expected}`).toBeLessThan(1e-9 * scale);
  } else if (Array.isArray(expected) && Array.isArray(found)) {
    expect(found.length, place).toBe(expected.length);
    for (const [i, value] of expected.entries()) expectClose(found[i], value, `${place}[${i}]`);
  } else if (expected !== null && typeof expected === "object" && found !== null && typeof found === "object") {
    expect(Object.keys(found), place).toEqual(Object.keys(expected));
    for (const [key, value] of Object.entries(expected)) {
      expectClose((found as Record<string, unknown>)[key], value, `${place}.${key}`);
    }
  } else expect(found, place).toEqual(expected);
}

const expectAlike = (found: readonly Cell[], expected: readonly Cell[]): void => expectClose(found, expected, "cells");

/** Everything of a cell that does not hang on the order of its runs; reasons name the first runs they find. */
const orderless = (cells: readonly Cell[]): Cell[] =>
  cells.map((cell) => ({
    ...cell,
    baseline: sorted(cell.baseline),
    candidate: sorted(cell.candidate),
    fragile: cell.fragile.map((reason) => reason.replace(/run-\d+/g, "run")).sort(),
  }));

function sorted(side: Cell["baseline"]): Cell["baseline"] {
  const order = side.runs.map((_, i) => i).sort((a, b) => side.runs[a]!.localeCompare(side.runs[b]!));
  return { ...side, values: order.map((i) => side.values[i]!), runs: order.map((i) => side.runs[i]!) };
}

const mirroredVerdict = (verdict: Cell["verdict"]): Cell["verdict"] =>
  verdict === "steadier" ? "less steady" : verdict === "less steady" ? "steadier" : verdict;

describe("what must not matter", () => {
  test("swapping baseline and candidate mirrors every cell", () => {
    fc.assert(
      fc.property(anyDay, (day) => {
        const runs = named(runsOfDay(day));
        const mirrored = judge(runs, { baseline: "weighted", candidate: "bare" }).map((cell): Cell => {
          const turn = (interval: [number, number] | null): [number, number] | null =>
            interval && [-interval[1], -interval[0]];
          return {
            ...cell,
            baseline: cell.candidate,
            candidate: cell.baseline,
            difference: cell.difference === null ? null : -cell.difference,
            // of the other mean, and of the offsets: compared by hand below
            ratio: null,
            ratio_ci95: null,
            constant: null,
            ci95: turn(cell.ci95),
            ci90: turn(cell.ci90),
            verdict: mirroredVerdict(cell.verdict),
            verdict_all_runs: mirroredVerdict(cell.verdict_all_runs),
            fragile: cell.fragile.map((reason) =>
              reason.replace(/"(steadier|less steady)"/, (_, word) => `"${mirroredVerdict(word)}"`),
            ),
          };
        });
        const plain = judge(runs);
        const comparable = (cells: readonly Cell[]): Cell[] =>
          cells.map((cell) => ({ ...cell, ratio: null, ratio_ci95: null, constant: null }));
        expectAlike(comparable(mirrored), comparable(plain));
        const turned = judge(runs, { baseline: "weighted", candidate: "bare" });
        for (const [i, { constant }] of plain.entries()) {
          const other = turned[i]!.constant;
          expect(other?.role).toBe(constant?.role);
          expectClose(other?.share, constant?.share, "share");
          if (constant != null && constant.step !== null) expectClose(-other!.step!, constant.step, "step");
        }
        for (const { ratio, difference, baseline } of plain) {
          expect(ratio === null).toBe(difference === null || baseline.n === 0);
        }
      }),
      { seed, numRuns },
    );
  });

  test("the order in which the runs are listed changes no number, drawn permutation p included", () => {
    fc.assert(
      fc.property(anyDay, fc.integer({ min: 1, max: 1e6 }), (day, shuffle) => {
        const runs = named(runsOfDay(day));
        const random = seededRandom(shuffle);
        const keys = new Map(runs.map((run) => [run.id, random.uniform()]));
        const shuffled = [...runs].sort((a, b) => keys.get(a.id)! - keys.get(b.id)!);
        expectAlike(orderless(judge(shuffled)), orderless(judge(runs)));
      }),
      { seed, numRuns },
    );
  });

  test("names of runs, blocks and configurations change nothing but the names", () => {
    fc.assert(
      fc.property(anyDay, (day) => {
        const runs = named(runsOfDay(day));
        const rename: Record<string, string> = { bare: "zz", weighted: "aa" };
        const other = runs.map((run) => ({
          ...run,
          id: `flight ${run.id}`,
          configuration: rename[run.configuration]!,
          block: run.block === null ? null : `z${10 - Number(run.block!.slice(4))}`,
        }));
        const found = judge(other, { baseline: "zz", candidate: "aa" });
        const back = JSON.parse(JSON.stringify(found).replaceAll("flight run", "run")) as Cell[];
        expectAlike(back, judge(runs));
      }),
      { seed, numRuns },
    );
  });

  test("another unit of length scales lengths and leaves every p, count and verdict", () => {
    fc.assert(
      fc.property(anyDay, fc.constantFrom(1e-3, 0.25, 39.37, 1e6), (day, factor) => {
        const runs = named(runsOfDay(day));
        const scaled = runs.map((run) => ({ ...run, value: scaledValue(run.value, factor) }));
        const smallest = (length: number) => ({ vehicle: length, effector: length, arm: null });
        const found = judge(scaled, { smallestDifference: smallest(0.0015 * factor) }).map((cell): Cell => {
          const length = <T extends number | null>(value: T): T => (value === null ? value : value / factor) as T;
          const side = (one: Cell["baseline"]): Cell["baseline"] => ({
            ...one,
            mean: length(one.mean),
            sd: length(one.sd),
            values: one.values.map((value) => value / factor),
          });
          return {
            ...cell,
            baseline: side(cell.baseline),
            candidate: side(cell.candidate),
            difference: length(cell.difference),
            se: length(cell.se),
            ci95: cell.ci95 && [length(cell.ci95[0]), length(cell.ci95[1])],
            ci90: cell.ci90 && [length(cell.ci90[0]), length(cell.ci90[1])],
            smallest_difference: length(cell.smallest_difference),
            pair: cell.pair && { ...cell.pair, sd: length(cell.pair.sd), limit: length(cell.pair.limit) },
          };
        });
        // of the measures that these runs hold as lengths; the rest stands as it was, or is no length
        const lengths = (cells: readonly Cell[]): Cell[] =>
          cells.filter(({ axis }) => axis !== "norm").map((cell) => ({ ...cell, constant: null }));
        expectAlike(lengths(found), lengths(judge(runs, { smallestDifference: smallest(0.0015) })));
      }),
      { seed, numRuns },
    );
  });

  test("what all runs of a block share leaves a difference within blocks as it is", () => {
    // two such blocks even after the loss of any run: a cell that falls back on Welch's is open to the blocks again
    const several = anyDay.filter(({ layout }) => {
      const both = layout.filter(([baseline, candidate]) => baseline > 0 && candidate > 0);
      return both.length >= 3 || (both.length === 2 && both.every((sides) => Math.min(...sides) >= 2));
    });
    fc.assert(
      fc.property(several, (day) => {
        const runs = named(runsOfDay(day));
        const shift: Record<string, number> = { "day 1": 0.004, "day 2": -0.002, "day 3": 0, "day 4": 0.01 };
        const shifted = runs.map((run) => ({ ...run, value: addedValue(run.value, shift[run.block!]!) }));
        // means, their spread over blocks and the ratio to the baseline's mean are not within blocks
        const within = (cells: readonly Cell[]) =>
          cells.map(({ baseline, candidate, ratio, ratio_ci95, ...cell }) => ({
            ...cell,
            n: [baseline.n, candidate.n],
          }));
        const found = judge(shifted);
        for (const { method } of found) expect(method).toBe("blocked");
        expectClose(within(found), within(judge(runs)), "cells");
      }),
      { seed, numRuns },
    );
  });
});

function scaledValue(value: InventedRun["value"], factor: number): InventedRun["value"] {
  return typeof value === "number" ? value * factor : (place) => value(place) * factor;
}

function addedValue(value: InventedRun["value"], more: number): InventedRun["value"] {
  return typeof value === "number" ? value + more : (place) => value(place) + more;
}

describe("what equal blocks change", () => {
  test("method, standard error, degrees of freedom and permutation, not the difference", () => {
    for (let own = 1; own <= 20; own++) {
      const runs = named(runsOfDay({ layout: [[4, 4]], seed: own, effect: -1, blocks: 0 }));
      const halves = runs.map((run, i) => ({ ...run, block: i % 2 === 0 ? "morning" : "noon" }));
      const [whole, split] = [judge(runs), judge(halves)];
      for (const [i, cell] of split.entries()) {
        const before = whole[i]!;
        // one figure a run over all axes: these invented runs have it all alike
        if (cell.axis === "norm") continue;
        // equal numbers: the mean of the blocks' differences is the difference of the means
        expectClose(cell.difference, before.difference, "difference");
        expectClose([cell.baseline, cell.candidate], [before.baseline, before.candidate], "sides");
        expect(before.method).toBe("welch");
        expect(cell.method).toBe("blocked");
        // n - B - 1 = 8 - 2 - 1; Welch's lies between 3 and 6
        expect(cell.df).toBe(5);
        expect(before.df).toBeGreaterThan(3);
        expect(before.df).toBeLessThanOrEqual(6);
        expect(cell.arrangements).toBe(36);
        expect(before.arrangements).toBe(70);
      }
    }
  });

  test("a single block that all runs share is as none", () => {
    const runs = named(runsOfDay({ layout: [[4, 5]], seed: 3, effect: -4, blocks: 0 }));
    expectAlike(judge(runs.map((run) => ({ ...run, block: "the only day" }))), judge(runs));
  });
});
