import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import type { Check } from "../../src/foundation/checks.ts";
import type { Vector3 } from "../../src/foundation/units.ts";
import { markerChecks, worstStretch } from "../../src/pipeline/markerChecks.ts";
import { readLog } from "../../src/readers/readLog.ts";
import { buildC3d } from "../readers/c3d/buildC3d.ts";
import { capture, markers, type Point } from "../readers/c3d/capture.ts";
import { temporaryFolder } from "../readers/rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
let files = 0;

/** Checks of a body as a whole run gives them: hand-made bytes, read at 100 frames a second. */
async function checksOf(frames: readonly (readonly Point[])[], places = markers): Promise<Check[]> {
  const path = join(folder, `body-${files++}.c3d`);
  const names = Object.keys(places);
  writeFileSync(path, buildC3d({ order: "Intel", integers: 0, labels: names, rate: 100, unit: "mm", frames }));
  const { signals } = await readLog([path], [{ signal: "vehicle_pose", topic: "", markers: places }]);
  return markerChecks(signals.get("vehicle_pose")!, places);
}

/** Labels F2 and F3 exchanged: 0.2 m apart. */
const exchanged = ([one, two, three, four]: readonly Point[]): Point[] => [one!, three!, two!, four!];
const every = (wrong: (k: number) => boolean) => (points: Point[], k: number) =>
  wrong(k) ? exchanged(points) : points;

// what is wrong, and when, is known because the capture is made so: frame k is at k / 100 s
describe("two labels exchanged", () => {
  test("for 0.15 of 20 s are doubted, with these seconds, though the whole run fits to less than 12 mm", async () => {
    const frames = capture(2000, 0.3e-3).map(every((k) => k >= 700 && k < 715));
    const [check, ...others] = await checksOf(frames);
    expect(others).toEqual([]);
    expect(check).toMatchObject({ code: "frame-suspect", severity: "doubt" });
    expect(check!.evidence).toMatchObject({ frames: 2000, frames_beyond: 15, from_s: 7, to_s: 7.14 });
    // a twentieth of the largest distance, F1 to F2 or F3: sqrt(0.2^2 + 0.1^2 + 0.02^2) = 224.5 mm
    expect(check!.evidence.residual_m).toBeLessThan(0.05 * 0.2245);
    expect(check!.message).toMatch(/in 15 of 2000 frames .* most of them from 7\.00 s to 7\.14 s of the capture/);
  });

  test("in every 50th frame, never together, are doubted as well", async () => {
    const [check] = await checksOf(capture(2000, 0.3e-3).map(every((k) => k % 50 === 7)));
    expect(check!.evidence).toMatchObject({ frames_beyond: 40 });
    expect(check!.message).toMatch(/in 40 of 2000 frames .* worst at \d+\.\d\d s/);
  });

  test("throughout are reported as before, for the whole run", async () => {
    const [check, ...others] = await checksOf(capture(500, 0.3e-3).map(exchanged));
    expect(others).toEqual([]);
    expect(check!.message).toMatch(/miss their declared places by \d+\.\d mm rms on a body of 22[45] mm/);
  });
});

describe("nothing is said of", () => {
  test.each([0, 0.3e-3, 1e-3, 2e-3])("a clean run of 50 s with noise of %s m", async (noise) => {
    expect(await checksOf(capture(5000, noise))).toEqual([]);
  });

  test("three frames astray, each for itself, in 20 s", async () => {
    expect(await checksOf(capture(2000, 0.3e-3).map(every((k) => [300, 900, 1500].includes(k))))).toEqual([]);
  });

  test("a marker 3 mm beside its declared place, in turn with three of four of them seen", async () => {
    const frames = capture(2000, 0.3e-3).map((points, k) =>
      points.map(([x, y, z, r], m): Point => (Math.floor(k / 100) % 5 === m ? [0, 0, 0, -1] : [x, y, z, r])),
    );
    const beside = { ...markers, F4: [0, 0.003, 0.06] } as const;
    expect((await checksOf(frames, beside)).filter(({ code }) => code === "frame-suspect")).toEqual([]);
  });
});

describe("markers near one line", () => {
  // by hand, as in turnAxes: a triangle of base 200 mm and height h fixes the turn about its base by h sqrt(2/3), and noise s
  // turns it by s over that; a twentieth of 200 mm is 10 mm, which noise of 0.3 mm reaches at an amplification of 33.3
  const triangle = (h: number): Readonly<Record<string, Vector3>> => ({
    A: [-0.1, 0, 0],
    B: [0.1, 0, 0],
    C: [0, h, 0],
  });
  const noise = 0.3e-3;
  const flown = (places: Readonly<Record<string, Vector3>>) => capture(2000, noise, 0.05, places);

  test("are doubted: 5 mm of height turn by 4.2 degrees and amplify 49 times", async () => {
    const places = triangle(0.005);
    const [check, ...others] = await checksOf(flown(places), places);
    expect(others).toEqual([]);
    expect(check).toMatchObject({ code: "frame-suspect", severity: "doubt" });
    const spread = 0.005 * Math.sqrt(2 / 3);
    expect(check!.evidence.spread_m).toBeCloseTo(spread, 9);
    expect(check!.evidence.amplification).toBeCloseTo(0.2 / spread, 4);
    // the median of a root of chi-squared with 3 degrees of freedom over 3 is sqrt(2.366 / 3) = 0.888; 2000 differences give
    // it to 1.253 x 0.39 x sqrt(1.5) / sqrt(2000) = 1.3 %: neighbours share a frame
    expect(Math.abs((check!.evidence.turn_rad as number) / ((0.888 * noise) / spread) - 1)).toBeLessThan(0.052);
    expect(check!.message).toMatch(/A, B, C lie so near one line .* by 3\.\d degrees rms/);
  });

  test("are not doubted where the height is 50 mm, nor where the noise of 5 mm of height is a tenth", async () => {
    expect(await checksOf(flown(triangle(0.05)), triangle(0.05))).toEqual([]);
    expect(await checksOf(capture(500, noise / 10, 0.05, triangle(0.005)), triangle(0.005))).toEqual([]);
  });

  test("are not doubted for a place that a ruler gave to 8 mm: that is no noise", async () => {
    // scipy's align_vectors and numpy's eigvalsh: misfit 3.2 mm, amplification 4.4, so 14 mm if the misfit were noise, of 10
    const places = { ...triangle(0.06), A: [-0.107, 0.004, 0] } as const;
    expect(await checksOf(flown(triangle(0.06)), places)).toEqual([]);
  });

  test("are doubted where only they are seen for a while, with these seconds", async () => {
    const places = { ...triangle(0.005), D: [0.02, 0.1, 0.05] } as const;
    const frames = flown(places).map((points, k) =>
      k >= 500 && k < 620 ? [...points.slice(0, 3), [0, 0, 0, -1] as Point] : points,
    );
    const check = (await checksOf(frames, places)).find(({ code }) => code === "frame-suspect");
    expect(check!.evidence).toMatchObject({ markers: "A, B, C", frames_beyond: 120, from_s: 5, to_s: 6.19 });
    expect(check!.message).toContain("in 120 of 2000 frames, most of them from 5.00 s to 6.19 s of the capture");
  });
});

// by hand: five values beyond the limit span fewer than 20 rows
describe("the worst stretch of", () => {
  const column = (beyond: readonly number[]) => Float64Array.from({ length: 200 }, (_, row) => +beyond.includes(row));

  test("values that stand alone is none; four together are none, five of nineteen rows are one", () => {
    expect(worstStretch(column([3, 40, 77, 114, 151]), 0.5)).toBeNull();
    expect(worstStretch(column([3, 4, 5, 6]), 0.5)).toBeNull();
    expect(worstStretch(column([10, 14, 18, 22, 30]), 0.5)).toBeNull();
    expect(worstStretch(column([10, 14, 18, 22, 29]), 0.5)).toEqual({ first: 10, last: 29, beyond: 5 });
  });

  test("two is the one with more values", () => {
    const rows = [10, 11, 12, 13, 14, 100, 101, 102, 103, 104, 110, 119];
    expect(worstStretch(column(rows), 0.5)).toEqual({ first: 100, last: 119, beyond: 7 });
  });
});
