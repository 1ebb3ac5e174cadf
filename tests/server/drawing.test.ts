import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { thinError, thinPath } from "../../server/answers/seriesAnswer.ts";
import { columnRuns, stretchesOf } from "../../server/drawing/columnRuns.ts";
import { foldCycles } from "../../server/routes/runRoutes.ts";
import { vectorLengths } from "../../src/metrics/trackingError.ts";

const widest = 0.025;

/** A track of 10 ms steps with gaps here and there, and a window over some of it. */
const tracks = fc
  .record({
    steps: fc.array(
      fc.oneof(
        { weight: 9, arbitrary: fc.constant(0.01) },
        { weight: 1, arbitrary: fc.double({ min: 0.03, max: 5, noNaN: true }) },
      ),
      {
        minLength: 1,
        maxLength: 400,
      },
    ),
    seed: fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 3, maxLength: 50 }),
    columns: fc.integer({ min: 1, max: 120 }),
  })
  .map(({ steps, seed, columns }) => {
    const t = new Float64Array(steps.length);
    let now = 3;
    for (let i = 0; i < steps.length; i++) {
      t[i] = now;
      now += steps[i]!;
    }
    const column = (shift: number): Float64Array =>
      t.map((_, i) => seed[(i * 7 + shift) % seed.length]! * (1 + (i % 5)));
    return { error: { t, x: column(0), y: column(1), z: column(2) }, columns, window: [3, now] as const };
  });

type Track = ReturnType<typeof tracks.generate>["value"];

function drawn({ error, columns, window }: Track) {
  const stretches = stretchesOf(error.t, 0, error.t.length, widest);
  const runs = columnRuns(error.t, stretches, window, columns);
  const lengths = vectorLengths(error.x, error.y, error.z);
  return { runs, lines: thinError(error, lengths, runs), lengths };
}

/** The column of an instant, by division alone. */
const columnOf = (t: number, { columns, window }: Track): number =>
  Math.min(columns - 1, Math.floor(((t - window[0]) * columns) / (window[1] - window[0])));

const seeded = { seed: 20_261, numRuns: 400 };

describe("thinning an error for drawing", () => {
  test("the drawn minimum and maximum of every column are the data's", () => {
    fc.assert(
      fc.property(tracks, (track) => {
        const { lines, lengths } = drawn(track);
        for (const [name, values] of Object.entries({ ...track.error, norm: lengths })) {
          if (name === "t") continue;
          const axis = name as "x" | "y" | "z" | "norm";
          // the slow obvious way: sample by sample into columns
          const expected = new Map<number, [number, number]>();
          values.forEach((value, i) => {
            const column = columnOf(track.error.t[i]!, track);
            const [low, high] = expected.get(column) ?? [value, value];
            expected.set(column, [Math.min(low, value), Math.max(high, value)]);
          });
          const found = new Map<number, [number, number]>();
          for (const line of lines) {
            line.start.forEach((start, k) => {
              const column = columnOf(start, track);
              const [low, high] = found.get(column) ?? [line[axis].low[k]!, line[axis].high[k]!];
              found.set(column, [Math.min(low, line[axis].low[k]!), Math.max(high, line[axis].high[k]!)]);
            });
          }
          expect(found).toEqual(expected);
        }
      }),
      seeded,
    );
  });

  test("no line goes on across a gap, and an entry that spans one is narrower than its column", () => {
    fc.assert(
      fc.property(tracks, (track) => {
        const { t } = track.error;
        const { lines } = drawn(track);
        for (let i = 1; i < t.length; i++) {
          if (t[i]! - t[i - 1]! <= widest) continue;
          for (const line of lines) {
            const before = line.start.findIndex((start) => start <= t[i - 1]!);
            const after = line.end.findLastIndex((end) => end >= t[i]!);
            if (before < 0 || after < 0) continue;
            // only an entry by itself, all of it in one column
            expect(line.start).toHaveLength(1);
            expect(columnOf(line.start[0]!, track)).toBe(columnOf(line.end[0]!, track));
          }
        }
      }),
      seeded,
    );
  });

  test("without gaps the drawing is one line, and there are never more than three entries a column", () => {
    fc.assert(
      fc.property(tracks, (track) => {
        const { runs, lines } = drawn(track);
        expect(runs.length).toBeLessThanOrEqual(3 * track.columns);
        const gaps = track.error.t.some((t, i) => i > 0 && t - track.error.t[i - 1]! > widest);
        if (!gaps) expect(lines).toHaveLength(1);
        // every sample lies in exactly one entry
        expect(runs.map(({ from, to }) => [from, to])).toEqual(
          runs.map((_, k) => [
            k === 0 ? 0 : runs[k - 1]!.to,
            k === runs.length - 1 ? track.error.t.length : runs[k + 1]!.from,
          ]),
        );
      }),
      seeded,
    );
  });

  test("a path keeps the samples where an axis is extreme, in order of time, and invents none", () => {
    fc.assert(
      fc.property(tracks, (track) => {
        const { runs } = drawn(track);
        const lines = thinPath(track.error, runs);
        const rows = new Map(Array.from(track.error.t, (t, i) => [t, i]));
        const times = lines.flatMap(({ t }) => t);
        expect(times).toEqual([...new Set(times)].sort((a, b) => a - b));
        for (const axis of ["x", "y", "z"] as const) {
          const values = lines.flatMap((line) => line[axis]);
          expect(values).toEqual(times.map((t) => track.error[axis][rows.get(t)!]));
          expect(Math.min(...values)).toBe(Math.min(...track.error[axis]));
          expect(Math.max(...values)).toBe(Math.max(...track.error[axis]));
        }
      }),
      seeded,
    );
  });
});

describe("folding cycles", () => {
  test("a sine locked to the cycle folds onto itself, to the width of a bin", () => {
    // 5 cycles of 2 s at 100 Hz
    const t = Float64Array.from({ length: 1000 }, (_, i) => i / 100);
    const sine = t.map((s) => Math.sin(Math.PI * s));
    const zero = new Float64Array(1000);
    const cycles = [0, 1, 2, 3, 4].map((k) => [2 * k, 2 * k + 2] as const);
    const { phase, mean, behind, cycles: folded } = foldCycles({ t, x: sine, y: zero, z: zero }, cycles, 50);
    expect(folded).toHaveLength(5);
    expect(behind).toEqual(Array(50).fill(5));
    // four samples a bin, which lie up to 1.5 steps of pi/100 off its middle on one side and 2 on the other
    for (const [b, theta] of phase.entries()) {
      expect(Math.abs(mean.x[b]! - Math.sin(theta))).toBeLessThan(Math.PI / 200 + 1e-3);
    }
  });

  test("a gap leaves its bins empty in that cycle, and the mean says how many cycles stand behind it", () => {
    const kept = Array.from({ length: 40 }, (_, i) => i / 10).filter((t) => t < 1 || t >= 1.5);
    const t = Float64Array.from(kept);
    const one = new Float64Array(t.length).fill(1);
    const { cycles, behind, mean } = foldCycles(
      { t, x: one, y: one, z: one },
      [
        [0, 2],
        [2, 4],
      ],
      4,
    );
    expect(cycles[0]!.x).toEqual([1, 1, null, 1]);
    expect(cycles[1]!.x).toEqual([1, 1, 1, 1]);
    expect(behind).toEqual([2, 2, 1, 2]);
    expect(mean.x).toEqual([1, 1, 1, 1]);
  });

  test("a bin that no cycle has is null in the mean", () => {
    const t = Float64Array.of(0.1, 1.9);
    const { mean, behind } = foldCycles({ t, x: t, y: t, z: t }, [[0, 2]], 4);
    expect(mean.y).toEqual([0.1, null, null, 1.9]);
    expect(behind).toEqual([1, 0, 0, 1]);
  });
});
