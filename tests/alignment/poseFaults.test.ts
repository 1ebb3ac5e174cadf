import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { findGaps, medianInterval, screenPoses } from "../../src/alignment/poseFaults.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { PoseTrack } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { evenTimes, noisyFlight, poses } from "./signals.ts";

const screen = (track: PoseTrack) => screenPoses(track, defaultSettings);
const codes = (track: PoseTrack): string[] => screen(track).faults.map(({ code }) => code);
const columns = ["x", "y", "z", "qx", "qy", "qz", "qw"] as const;

/** A copy that a fault may be written into. */
function copy(track: PoseTrack): Record<"t" | (typeof columns)[number], Float64Array> {
  const { t, x, y, z, qx, qy, qz, qw } = track;
  return {
    t: t.slice(),
    x: x.slice(),
    y: y.slice(),
    z: z.slice(),
    qx: qx.slice(),
    qy: qy.slice(),
    qz: qz.slice(),
    qw: qw.slice(),
  };
}

function without(track: PoseTrack, from: number, to: number): PoseTrack {
  const cut = (column: Float64Array): Float64Array => column.filter((_, i) => i < from || i >= to);
  const { t, x, y, z, qx, qy, qz, qw } = track;
  return { t: cut(t), x: cut(x), y: cut(y), z: cut(z), qx: cut(qx), qy: cut(qy), qz: cut(qz), qw: cut(qw) };
}

describe("a sound flight", () => {
  test("raises no alarm at 50 to 240 Hz, with stamps that jitter by up to half an interval, and loses no sample", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 100_000 }),
        fc.constantFrom(50, 100, 120, 200, 240),
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        (seed, rate, jitter) => {
          const flight = noisyFlight(seed, rate, 20, jitter);
          const { track, faults, excursions } = screen(flight);
          expect(faults).toEqual([]);
          expect(excursions).toEqual([]);
          expect(track.t).toEqual(flight.t);
          expect(track.x).toEqual(flight.x);
        },
      ),
      { seed: 21, numRuns: 40 },
    );
  });

  test("a fast circle (0.4 m/s) and a lively attitude (2 rad/s) are no jump", () => {
    const random = seededRandom(22);
    const flight = poses(evenTimes(100, 20), (t) => {
      const roll = 0.3 * Math.sin(2 * Math.PI * 1.06 * t);
      return {
        p: [
          0.4,
          0.06 * Math.cos(6.7 * t) + 2e-4 * random.normal(),
          1.5 + 0.06 * Math.sin(6.7 * t) + 2e-4 * random.normal(),
        ],
        q: [Math.sin(roll / 2), 0, 0, Math.cos(roll / 2)],
      };
    });
    expect(codes(flight)).toEqual([]);
  });

  test("a single-precision log of a moving vehicle is not taken for interpolated", () => {
    const flight = noisyFlight(23, 100, 20);
    const rounded = copy(flight);
    for (const name of columns) rounded[name] = rounded[name].map(Math.fround);
    expect(codes(rounded)).toEqual([]);
  });

  test("the sign of its quaternions is made continuous and nothing else changes", () => {
    const flight = noisyFlight(24, 100, 5);
    const random = seededRandom(25);
    const mixed = copy(flight);
    mixed.t.forEach((_, i) => {
      if (i === 0 || random.uniform() < 0.5) return;
      for (const name of ["qx", "qy", "qz", "qw"] as const) mixed[name][i] = -mixed[name][i]!;
    });
    const clean = screen(flight);
    const turned = screen(mixed);
    expect(turned.track).toEqual(clean.track);
    expect(turned.faults).toEqual([]);
  });

  test("screening changes nothing that the caller owns", () => {
    const flight = copy(noisyFlight(26, 100, 2));
    flight.x[50] = 40;
    flight.qw[70] = 0;
    const before = structuredClone(flight);
    screen(flight);
    expect(flight).toEqual(before);
  });
});

describe("attitudes that are none", () => {
  const cases: [string, (value: number) => number][] = [
    ["NaN", () => Number.NaN],
    ["zero", () => 0],
    ["infinite", () => Number.POSITIVE_INFINITY],
    ["of norm 1.01", (value) => 1.01 * value],
  ];
  test.each(cases)("a quaternion that is %s is left out and counted", (_, spoil) => {
    const flight = copy(noisyFlight(30, 100, 5));
    for (const i of [100, 101, 300]) {
      for (const name of ["qx", "qy", "qz", "qw"] as const) flight[name][i] = spoil(flight[name][i]!);
    }
    const { track, faults } = screen(flight);
    expect(faults).toMatchObject([
      {
        code: "bad-quaternion",
        samples: 3,
        stretches: [
          [flight.t[100], flight.t[101]],
          [flight.t[300], flight.t[300]],
        ],
      },
    ]);
    expect(track.t.length).toBe(497);
    // every one left has unit norm, to a few units in the last place
    track.t.forEach((_t, i) => {
      expect(Math.abs(Math.hypot(track.qx[i]!, track.qy[i]!, track.qz[i]!, track.qw[i]!) - 1)).toBeLessThan(1e-15);
    });
  });

  test("a norm wrong by less than a thousandth is a rounded log, not a fault, and is renormalised", () => {
    const flight = copy(noisyFlight(31, 100, 2));
    for (const name of ["qx", "qy", "qz", "qw"] as const) flight[name] = flight[name].map((value) => value * 1.0009);
    const { track, faults } = screen(flight);
    expect(faults).toEqual([]);
    expect(Math.abs(Math.hypot(track.qx[5]!, track.qy[5]!, track.qz[5]!, track.qw[5]!) - 1)).toBeLessThan(1e-15);
  });

  test("a position that is NaN is left out as well", () => {
    const flight = copy(noisyFlight(32, 100, 2));
    flight.y[40] = Number.NaN;
    expect(screen(flight).track.t.length).toBe(199);
  });

  test("nothing but bad attitudes leaves nothing", () => {
    const flight = copy(noisyFlight(33, 100, 1));
    flight.qw.fill(0);
    flight.qx.fill(0);
    flight.qy.fill(0);
    flight.qz.fill(0);
    const { track, faults } = screen(flight);
    expect(track.t.length).toBe(0);
    expect(faults).toMatchObject([{ code: "bad-quaternion", samples: 100 }]);
  });
});

describe("frozen and zeroed poses", () => {
  function frozen(from: number, count: number): PoseTrack {
    const flight = copy(noisyFlight(40, 100, 5));
    for (let i = from + 1; i < from + count; i++) for (const name of columns) flight[name][i] = flight[name][from]!;
    return flight;
  }

  test("of three identical poses the first stays and two are left out", () => {
    const { track, faults } = screen(frozen(200, 3));
    expect(faults).toMatchObject([{ code: "frozen", samples: 2 }]);
    expect(track.t.length).toBe(498);
    expect([...track.t]).toContain(2);
    expect([...track.t]).not.toContain(2.01);
  });

  test("a pose that is published twice is no freeze", () => {
    expect(codes(frozen(200, 2))).toEqual([]);
  });

  test("a freeze to the end of the recording is found", () => {
    expect(screen(frozen(400, 100)).faults).toMatchObject([{ code: "frozen", samples: 99 }]);
  });

  test("a stretch at the origin with a valid attitude is frozen, every pose of it", () => {
    const flight = copy(noisyFlight(41, 100, 5));
    for (let i = 100; i < 150; i++) flight.x[i] = flight.y[i] = flight.z[i] = 0;
    const { track, faults } = screen(flight);
    expect(faults).toMatchObject([{ code: "frozen", samples: 50, stretches: [[flight.t[100], flight.t[149]]] }]);
    expect(track.t.length).toBe(450);
  });

  test("poses of zeros alone, quaternion as well, count as bad attitudes and not twice", () => {
    const flight = copy(noisyFlight(42, 100, 5));
    for (let i = 100; i < 120; i++) for (const name of columns) flight[name][i] = 0;
    expect(screen(flight).faults).toMatchObject([{ code: "bad-quaternion", samples: 20 }]);
  });

  test("one coordinate at 0 is a place, not a fault", () => {
    const flight = copy(noisyFlight(43, 100, 5));
    flight.y.fill(0);
    expect(codes(flight)).toEqual([]);
  });
});

describe("interpolated poses", () => {
  function filled(by: "time" | "number", from: number, count: number): PoseTrack {
    const flight = copy(noisyFlight(50, 100, 10, 0.4));
    const a = from - 1;
    const b = from + count;
    for (let i = from; i < b; i++) {
      const share = by === "time" ? (flight.t[i]! - flight.t[a]!) / (flight.t[b]! - flight.t[a]!) : (i - a) / (b - a);
      for (const name of ["x", "y", "z"] as const)
        flight[name][i] = flight[name][a]! + share * (flight[name][b]! - flight[name][a]!);
    }
    return flight;
  }

  test.each(["time", "number"] as const)("a gap filled linearly by %s is found and left out", (by) => {
    const { track, faults } = screen(filled(by, 300, 40));
    expect(faults.map(({ code }) => code)).toEqual(["frozen"]);
    // the sample at either end may be spared: with its true neighbour it is on no line
    expect(faults[0]!.samples).toBeGreaterThanOrEqual(38);
    expect(faults[0]!.samples).toBeLessThanOrEqual(40);
    expect(track.t.length).toBe(1000 - faults[0]!.samples);
    expect(faults[0]!.detail).toContain("interpolated");
  });

  test("two or three samples on a line happen and are kept", () => {
    expect(codes(filled("time", 300, 3))).toEqual([]);
  });
});

describe("jumps", () => {
  function displaced(from: number, to: number, by: readonly [number, number, number]): PoseTrack {
    const flight = copy(noisyFlight(60, 100, 10));
    for (let i = from; i < to; i++) {
      flight.x[i]! += by[0];
      flight.y[i]! += by[1];
      flight.z[i]! += by[2];
    }
    return flight;
  }

  test("an excursion of any length that returns is cut out exactly, and reported with where it began", () => {
    fc.assert(
      fc.property(fc.integer({ min: 50, max: 400 }), fc.integer({ min: 1, max: 150 }), (from, length) => {
        const flight = displaced(from, from + length, [0.3, -0.2, 0.1]);
        const { track, faults, excursions } = screen(flight);
        expect(faults).toMatchObject([{ code: "jump", samples: length }]);
        expect(track.t.length).toBe(1000 - length);
        expect(excursions).toMatchObject([
          {
            from: flight.t[from],
            to: flight.t[from + length - 1],
            before: [flight.x[from - 1], flight.y[from - 1], flight.z[from - 1]],
            after: [flight.x[from], flight.y[from], flight.z[from]],
          },
        ]);
      }),
      { seed: 61, numRuns: 40 },
    );
  });

  test("two excursions are two", () => {
    const flight = copy(displaced(200, 220, [1, 0, 0]));
    for (let i = 600; i < 605; i++) flight.z[i]! -= 0.8;
    const { faults, excursions } = screen(flight);
    expect(faults).toMatchObject([{ code: "jump", samples: 25 }]);
    expect(excursions.length).toBe(2);
  });

  test("a reflection that flickers every other sample is cut out", () => {
    const flight = copy(noisyFlight(62, 100, 10));
    for (let i = 300; i < 320; i += 2) flight.x[i]! += 0.5;
    const { track } = screen(flight);
    expect(Math.max(...track.x)).toBeLessThan(0.6);
    expect(track.t.length).toBeGreaterThanOrEqual(980);
  });

  test("a jump that never returns keeps the longer part: the later one", () => {
    const { track, faults } = screen(displaced(0, 200, [0.5, 0, 0]));
    expect(faults).toMatchObject([{ code: "jump", samples: 200 }]);
    expect(track.t[0]).toBe(2);
    expect(track.t.length).toBe(800);
  });

  test("a jump that never returns keeps the longer part: the earlier one", () => {
    const { track, faults } = screen(displaced(700, 1000, [0.5, 0, 0]));
    expect(faults).toMatchObject([{ code: "jump", samples: 300 }]);
    expect(track.t[track.t.length - 1]).toBe(6.99);
  });

  test("an attitude that flips by a quarter turn for a few samples is cut out, though the position stays", () => {
    const flight = copy(noisyFlight(63, 100, 10));
    for (let i = 500; i < 510; i++) {
      const { qx, qy, qz, qw } = flight;
      const [a, b, c, d] = [qx[i]!, qy[i]!, qz[i]!, qw[i]!];
      // q o quarter turn about z
      qx[i] = (a + b) * Math.SQRT1_2;
      qy[i] = (b - a) * Math.SQRT1_2;
      qz[i] = (c + d) * Math.SQRT1_2;
      qw[i] = (d - c) * Math.SQRT1_2;
    }
    const { track, faults } = screen(flight);
    expect(faults).toMatchObject([{ code: "jump", samples: 10, stretches: [[flight.t[500], flight.t[509]]] }]);
    expect(track.t.length).toBe(990);
  });

  test("what a vehicle moved during a gap is no jump", () => {
    // 0.2 m/s for a second
    const random = seededRandom(64);
    const flight = poses(evenTimes(100, 10), (t) => ({
      p: [0.2 * t + 2e-4 * random.normal(), 2e-4 * random.normal(), 1.5],
    }));
    const { track, faults } = screen(without(flight, 400, 500));
    expect(faults.map(({ code }) => code)).toEqual(["gap"]);
    expect(track.t.length).toBe(900);
  });
});

describe("gaps", () => {
  test("missing samples are reported with both ends and how many, and nothing is filled in", () => {
    const flight = without(noisyFlight(70, 100, 10), 300, 350);
    const { track, faults } = screen(flight);
    // 50 samples gone; the ends are the last before and the first after
    expect(faults).toMatchObject([{ code: "gap", samples: 50, stretches: [[2.99, 3.5]] }]);
    expect(track.t).toEqual(flight.t);
  });

  test("one missing sample is no gap at 2.5 intervals, two are", () => {
    expect(codes(without(noisyFlight(71, 100, 2), 100, 101))).toEqual([]);
    expect(codes(without(noisyFlight(71, 100, 2), 100, 102))).toEqual(["gap"]);
  });

  test("findGaps lists pairs wider than 2.5 intervals; medianInterval needs two instants", () => {
    expect(findGaps(Float64Array.of(0, 1, 2, 4.4, 5, 8), 1, defaultSettings)).toEqual([{ from: 5, to: 8, missing: 2 }]);
    expect(medianInterval(Float64Array.of(0, 1, 2, 4.4, 5.4, 8))).toBe(1);
    expect(medianInterval(Float64Array.of(3))).toBeNaN();
  });

  test("a recording of none, one or two poses passes through", () => {
    for (const n of [0, 1, 2]) {
      const { track, faults } = screen(noisyFlight(72, n, 1));
      expect(track.t.length).toBe(n);
      expect(faults).toEqual([]);
    }
  });
});
