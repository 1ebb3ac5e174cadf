import { describe, expect, test } from "vitest";
import { screenPoses } from "../../src/alignment/poseFaults.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { PoseTrack } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { evenTimes, poses, turn } from "./signals.ts";

/** 30 s at 100 Hz: at rest until `rest`, then a hover that sways by some centimetres; noise of 0.2 mm and 0.7 mrad. */
function flown({ rest = 0, digits = 12, seed = 1 } = {}): PoseTrack {
  const random = seededRandom(seed);
  const noise = (sd: number): number => sd * random.normal();
  const near = (value: number): number => Math.round(value * 10 ** digits) / 10 ** digits;
  return poses(evenTimes(100, 30), (t) => {
    const s = Math.max(0, t - rest);
    const sway = (rate: number): number => 0.03 * Math.sin(rate * s) * Math.min(1, s);
    return {
      p: [near(sway(1.3) + noise(2e-4)), near(sway(0.9) + noise(2e-4)), near(1.5 + sway(1.1) + noise(2e-4))],
      q: turn([0, 1, 0], 0.05 * Math.sin(2 * s) + noise(7e-4)),
    };
  });
}

/** The track with some columns held at the value they had at row `from`, for 144 poses. */
function held(track: PoseTrack, names: readonly (keyof PoseTrack)[], from = 1200): PoseTrack {
  const hold = (column: Float64Array): Float64Array =>
    column.map((value, i) => (i >= from && i < from + 144 ? column[from]! : value));
  return { ...track, ...Object.fromEntries(names.map((name) => [name, hold(track[name])])) };
}

const frozen = (track: PoseTrack): { samples: number; detail: string; from: number }[] =>
  screenPoses(track, defaultSettings)
    .faults.filter(({ code }) => code === "frozen")
    .map(({ samples, detail, stretches }) => ({ samples, detail, from: stretches[0]![0] }));

const position = ["x", "y", "z"] as const;
const attitude = ["qx", "qy", "qz", "qw"] as const;

describe("144 poses of one position in a flight", () => {
  test("whose attitude goes on are a held point: all but the first are out", () => {
    // 144 poses from 12.00 s on, the first of them measured
    expect(frozen(held(flown(), position))).toEqual([
      {
        samples: 143,
        detail: expect.stringContaining("position repeats exactly while the attitude goes on"),
        from: 12.01,
      },
    ]);
  });

  test("are found in a text export of 0.1 mm too, by the step with which the body comes back", () => {
    const [found, ...more] = frozen(held(flown({ digits: 4 }), position));
    expect(more).toEqual([]);
    expect(found).toMatchObject({ samples: 143, from: 12.01 });
  });

  test("and an attitude that stands still while the position goes on likewise", () => {
    expect(frozen(held(flown(), attitude))).toEqual([
      {
        samples: 143,
        detail: expect.stringContaining("attitude repeats exactly while the position goes on"),
        from: 12.01,
      },
    ]);
  });
});

describe("nothing is frozen", () => {
  test("in a flight, however fine or coarse it was written, at rest before it or not", () => {
    for (const digits of [12, 7, 6, 5, 4, 3])
      for (const rest of [0, 15, 30])
        expect([digits, rest, frozen(flown({ digits, rest, seed: digits + rest }))]).toEqual([digits, rest, []]);
  });

  test("where a bench capture is so coarse that most positions are equal, or a half was never measured", () => {
    expect(frozen(flown({ digits: 3, rest: 30, seed: 9 }))).toEqual([]);
    const track = flown();
    expect(frozen({ ...track, x: track.x.map(() => 1), y: track.y.map(() => 1), z: track.z.map(() => 1) })).toEqual([]);
    expect(
      frozen({
        ...track,
        qx: track.x.map(() => 0),
        qy: track.x.map(() => 0),
        qz: track.x.map(() => 0),
        qw: track.x.map(() => 1),
      }),
    ).toEqual([]);
  });
});
