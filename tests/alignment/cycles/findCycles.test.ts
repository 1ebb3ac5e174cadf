import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { findCycles } from "../../../src/alignment/cycles/findCycles.ts";
import type { Trajectory } from "../../../src/contract/campaign.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import type { Window } from "../../../src/foundation/tracks.ts";
import { circle, circleYz, command, type Flown, line, strokeX } from "./commands.ts";

const flownCircle: Flown = { shape: circleYz(0.06), period: 1.508, cycles: 12, start: 17.0137 };
const flownLine: Flown = { shape: strokeX(0.15), period: 1.9, cycles: 12, start: 17.0137 };

function find(flown: Flown, declared: Trajectory, within: Window = [0, 1000]) {
  return findCycles(command(flown), declared, within, defaultSettings);
}
const codes = ({ checks }: ReturnType<typeof find>): string[] => checks.map(({ code }) => code);

/** Windows follow one another without gap, each one period long. */
function expectCycles(
  found: ReturnType<typeof find>,
  start: number,
  count: number,
  period: number,
  tolerance: number,
): void {
  expect(found.windows.length).toBe(count);
  expect(Math.abs(found.windows[0]![0] - start)).toBeLessThan(tolerance);
  expect(Math.abs(found.period! - period)).toBeLessThan(1e-4 * period);
  found.windows.forEach(([from, to], k) => {
    expect(to - from).toBeCloseTo(found.period!, 9);
    if (k > 0) expect(from).toBeCloseTo(found.windows[k - 1]![1], 9);
  });
}

describe("where phase 0 lies", () => {
  test.each([
    ["circle", flownCircle, circle()],
    ["line", flownLine, line()],
  ] as const)(
    "a %s that starts between two messages: twelve cycles, none invented, no check",
    (name, flown, declared) => {
      const found = find(flown, declared);
      expect(found.checks).toEqual([]);
      // a stroke starts from rest at its end, where a millisecond moves it by less than a micrometre: it is known to
      // where the position tells, the circle to 1 ms
      expectCycles(found, flown.start, 12, flown.period, name === "circle" ? 1e-3 : 0.012);
    },
  );

  test("a circle's phase 0 is found to a millisecond wherever between two messages at 50 Hz it starts", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 0.02, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (after, phase) => {
          // rotated start: the resting place is anywhere on the circle
          const shape = (turns: number) => circleYz(0.06)(turns + phase);
          const found = find({ ...flownCircle, shape, start: 17 + after }, circle());
          expect(found.checks).toEqual([]);
          expectCycles(found, 17 + after, 12, 1.508, 1e-3);
        },
      ),
      { seed: 141, numRuns: 12 },
    );
  });

  test.each([1, 1.5, 2])(
    "where the amplitude grows over %f cycles, those are left out; `cycles` counts the full ones",
    (ramp) => {
      const found = find({ ...flownCircle, cycles: 12 + Math.ceil(ramp), ramp }, circle());
      expect(found.checks).toEqual([]);
      // the ramp starts from the centre, where the path tells no phase: counted from the first message that moved, 20 ms
      expectCycles(found, flownCircle.start + Math.ceil(ramp) * 1.508, 12, 1.508, 0.021);
    },
  );

  test("a swing whose amplitude grows so gently that its beginning is not seen has one phase 0, however the messages fall", () => {
    // 75 mm sin, grown and faded by minimum jerk over a period: a micrometre is reached after 40 ms, between two messages at 30 Hz
    const period = 1.9;
    const gentle = (u: number): number => u ** 3 * (10 - 15 * u + 6 * u * u);
    const grown = (u: number): number => gentle(Math.min(1, Math.max(0, u)));
    for (let k = 0; k < 12; k++) {
      const t = Float64Array.from({ length: 1500 }, (_, i) => (i + k / 12) / 30);
      const begin = 15;
      const x = t.map((at) => {
        const turns = (at - begin) / period;
        return 0.075 * grown(turns) * grown(14 - turns) * Math.sin(2 * Math.PI * turns);
      });
      const zeros = new Float64Array(t.length);
      const found = findCycles({ t, x, y: zeros, z: zeros }, line(), [0, 1000], defaultSettings);
      // the sine's own passage, a period after the beginning, to what a millimetre of the waveform's harmonics is worth
      expectCycles(found, begin + period, 12, period, 2e-3);
    }
  });

  test.each([1, 1.5, 3, 6])(
    "where the command first travels to the path for %f s, phase 0 is where it joins it",
    (travel) => {
      const found = find({ ...flownCircle, travel }, circle());
      expect(found.checks).toEqual([]);
      // joined to a message: 20 ms
      expectCycles(found, flownCircle.start, 12, 1.508, 0.021);
    },
  );

  test("where the command steps onto the path, phase 0 is at the step", () => {
    const found = find({ ...flownCircle, step: true }, circle());
    expectCycles(found, flownCircle.start, 12, 1.508, 0.021);
  });

  test("a command at 20 Hz serves as well", () => {
    const found = find({ ...flownCircle, rate: 20 }, circle());
    expect(found.checks).toEqual([]);
    expectCycles(found, flownCircle.start, 12, 1.508, 1e-3);
  });

  test("a command whose period is 2 % longer than declared is cut by its own period", () => {
    const found = find({ ...flownCircle, period: 1.538 }, circle());
    expect(found.checks).toEqual([]);
    expectCycles(found, flownCircle.start, 12, 1.538, 1e-3);
  });
});

describe("only whole cycles inside the recording count", () => {
  test("a recording that ends within the ninth cycle leaves eight, and says so", () => {
    const found = find({ ...flownCircle, end: 17.0137 + 8.4 * 1.508 }, circle());
    expectCycles(found, flownCircle.start, 8, 1.508, 1e-3);
    expect(found.checks).toMatchObject([
      { code: "few-cycles", severity: "doubt", evidence: { declared_cycles: 12, recorded_cycles: 8 } },
    ]);
  });

  test("poses that end early do the same", () => {
    const found = find(flownCircle, circle(), [0, 17.0137 + 5.5 * 1.508]);
    expectCycles(found, flownCircle.start, 5, 1.508, 1e-3);
    expect(codes(found)).toEqual(["few-cycles"]);
  });

  test("a cycle of which a tenth was not recorded, at either end, does not count", () => {
    const tenth = 0.15;
    const end = flownCircle.start + 12 * 1.508;
    expectCycles(find(flownCircle, circle(), [0, end - tenth]), flownCircle.start, 11, 1.508, 1e-3);
    const late = find(flownCircle, circle(), [flownCircle.start + tenth, 1000]);
    expectCycles(late, flownCircle.start + 1.508, 11, 1.508, 1e-3);
  });

  test("poses that start late lose the cycles before them, not the count of phase", () => {
    const found = find(flownCircle, circle(), [20, 1000]);
    // 20 s is within the second cycle: the third is the first whole one
    expectCycles(found, flownCircle.start + 2 * 1.508, 10, 1.508, 1e-3);
  });

  test("no whole cycle recorded is unusable", () => {
    expect(find(flownCircle, circle(), [0, 18]).checks).toMatchObject([{ code: "few-cycles", severity: "unusable" }]);
  });

  test("of an onboard log that went on over several flights, those of the flight that was recorded", () => {
    const flights = [
      flownCircle,
      { ...flownCircle, start: 77.0137, first: 60 },
      { ...flownCircle, start: 137.0137, cycles: 14, first: 120 },
    ];
    const day = flights.map(command);
    const join = (pick: (samples: (typeof day)[number]) => Float64Array): Float64Array =>
      Float64Array.from(day.flatMap((samples) => [...pick(samples)]));
    const samples = { t: join(({ t }) => t), x: join(({ x }) => x), y: join(({ y }) => y), z: join(({ z }) => z) };
    const recorded: readonly (readonly [Window, number])[] = [
      [[10, 40], 0],
      [[58, 105], 1],
      [[119, 200], 2],
    ];
    for (const [within, k] of recorded) {
      const found = findCycles(samples, circle({ cycles: flights[k]!.cycles }), within, defaultSettings);
      expect(found.checks).toEqual([]);
      expectCycles(found, flights[k]!.start, flights[k]!.cycles, 1.508, 1e-3);
      const whole = findCycles(samples, { shape: "logged", period: null }, within, defaultSettings).windows;
      expect(whole.length).toBe(1);
      expect(Math.abs(whole[0]![0] - flights[k]!.start)).toBeLessThan(0.021);
    }
  });

  test("fewer than five cycles are few even where no more were declared", () => {
    expect(codes(find({ ...flownCircle, cycles: 4 }, circle({ cycles: 4 })))).toEqual([]);
    expect(
      find({ ...flownCircle, cycles: 3, end: 17.0137 + 3 * 1.508 - 0.5 }, circle({ cycles: 3 })).checks,
    ).toMatchObject([{ code: "few-cycles", severity: "doubt" }]);
  });
});

describe("a command that is not what was declared", () => {
  const wrong = (found: ReturnType<typeof find>): string => {
    const check = found.checks.find(({ code }) => code === "wrong-trajectory");
    expect(check?.severity).toBe("unusable");
    return check?.message ?? "";
  };

  test("another radius", () => {
    expect(wrong(find({ ...flownCircle, shape: circleYz(0.08) }, circle()))).toContain(
      "radius 60.0 mm declared, 80.0 mm commanded",
    );
  });

  test("another plane", () => {
    const message = wrong(find(flownCircle, circle({ plane: "xy" })));
    expect(message).toContain("plane xy declared");
    expect(message).toContain("90 degrees");
    expect(message).toContain("yz");
  });

  test("a plane tilted by 10 degrees", () => {
    const tilted = (turns: number) => {
      const [, y, z] = circleYz(0.06)(turns);
      return [z * Math.sin(Math.PI / 18), y, z * Math.cos(Math.PI / 18)] as const;
    };
    expect(wrong(find({ ...flownCircle, shape: tilted }, circle()))).toContain("10 degrees off");
  });

  test("another period", () => {
    const message = wrong(find({ ...flownCircle, period: 1.62 }, circle()));
    expect(message).toContain("1.508 s declared");
    expect(message).toContain("1.620");
  });

  test("a period far from the declared one is reported", () => {
    expect(wrong(find({ ...flownCircle, period: 3.1 }, circle()))).toContain("3.1");
  });

  test("another stroke", () => {
    expect(wrong(find({ ...flownLine, shape: strokeX(0.12) }, line()))).toContain(
      "stroke 150.0 mm declared, 120.0 mm commanded",
    );
  });

  test("another axis", () => {
    expect(wrong(find(flownLine, line({ axis: "z" })))).toContain("axis z declared");
  });

  test("another count of cycles", () => {
    expect(wrong(find({ ...flownCircle, cycles: 9 }, circle()))).toContain("12 cycles declared, 9 commanded");
    expect(wrong(find({ ...flownCircle, cycles: 14 }, circle()))).toContain("12 cycles declared, 14 commanded");
  });

  test("a line filed as a circle, and a circle as a line", () => {
    const back = (turns: number) => [0, 0.06 * Math.cos(2 * Math.PI * turns), 0] as const;
    wrong(find({ ...flownCircle, shape: back }, circle()));
    wrong(find({ ...flownCircle, period: 1.9 }, line({ axis: "y", stroke: 0.12 })));
  });

  test("a command that never moves", () => {
    const found = find({ ...flownCircle, cycles: 0 }, circle());
    expect(found.windows).toEqual([]);
    expect(wrong(found)).toContain("never moves");
  });

  test("a hold during which the command moves, and one during which it does not", () => {
    expect(wrong(find(flownCircle, { shape: "hold", duration: 30 }))).toContain("declared as hold");
    expect(find({ ...flownCircle, cycles: 0, end: 60 }, { shape: "hold", duration: 60 })).toEqual({
      windows: [],
      period: null,
      checks: [],
    });
  });
});

describe("five per cent", () => {
  test.each([
    [
      "radius",
      { ...flownCircle, shape: circleYz(0.06 * 1.04) },
      { ...flownCircle, shape: circleYz(0.06 * 1.06) },
      circle(),
    ],
    [
      "smaller radius",
      { ...flownCircle, shape: circleYz(0.06 * 0.96) },
      { ...flownCircle, shape: circleYz(0.06 * 0.94) },
      circle(),
    ],
    ["stroke", { ...flownLine, shape: strokeX(0.15 * 1.04) }, { ...flownLine, shape: strokeX(0.15 * 1.06) }, line()],
    [
      "period of a circle",
      { ...flownCircle, period: 1.508 * 1.04 },
      { ...flownCircle, period: 1.508 * 1.06 },
      circle(),
    ],
    ["period of a line", { ...flownLine, period: 1.9 * 0.96 }, { ...flownLine, period: 1.9 * 0.94 }, line()],
  ] as const)("%s: 4 off passes, 6 off does not", (_, near, far, declared) => {
    expect(codes(find(near, declared))).toEqual([]);
    expect(codes(find(far, declared))).toEqual(["wrong-trajectory"]);
  });
});

describe("a trajectory that only the log knows", () => {
  // a figure of two frequencies: cyclic, but neither circle nor line
  const figure = (turns: number) =>
    [
      0.05 * Math.sin(2 * Math.PI * turns),
      0.03 * Math.sin(4 * Math.PI * turns),
      0.02 * (1 - Math.cos(2 * Math.PI * turns)),
    ] as const;
  const flown: Flown = { shape: figure, period: 12, cycles: 6, start: 20.0071 };

  test("with a period it has cycles", () => {
    const found = find(flown, { shape: "logged", period: 12 });
    expect(found.checks).toEqual([]);
    expectCycles(found, 20.0071, 6, 12, 1e-3);
  });

  test("with a period that is not its own it is refused, and its own is named", () => {
    for (const period of [10.8, 13.5]) {
      const found = find(flown, { shape: "logged", period });
      expect(found.windows).toEqual([]);
      expect(found.checks).toMatchObject([{ code: "wrong-trajectory", severity: "unusable" }]);
      expect(Math.abs((found.checks[0]!.evidence.found_period_s as number) - 12)).toBeLessThan(0.05);
    }
  });

  test("with a period a little beside its own it is refused, not folded at the edge of what was searched", () => {
    for (const [cycles, ramp] of [
      [5, 0],
      [6, 0],
      [12, 0],
      [7, 1],
      [40, 1],
    ] as const) {
      for (const off of [-0.04, -0.03, 0.03, 0.04]) {
        const found = find({ ...flown, cycles, ramp }, { shape: "logged", period: 12 * (1 + off) });
        expect(found.windows).toEqual([]);
        expect(found.checks).toMatchObject([{ code: "wrong-trajectory", severity: "unusable" }]);
        // half of the least step that was made wrong
        expect(Math.abs((found.checks[0]!.evidence.found_period_s as number) - 12)).toBeLessThan(0.06);
      }
      // nearer than the 2 % within which its own is looked for, it is cut by its own
      for (const off of [-0.015, 0, 0.015]) {
        const found = find({ ...flown, cycles, ramp }, { shape: "logged", period: 12 * (1 + off) });
        expect(codes(found)).not.toContain("wrong-trajectory");
        expect(found.windows.length).toBe(cycles - ramp);
        expect(Math.abs(found.period! - 12)).toBeLessThan(1e-3);
      }
    }
  });

  test("that holds waypoints begins with the message that steps, not with the one before", () => {
    for (const rate of [5, 10, 50]) {
      const t = Float64Array.from({ length: 40 * rate }, (_, i) => i / rate);
      const way = [0, 0.1, 0.25, 0.15];
      const x = t.map((at) => (at < 10 || at >= 30 ? 0 : way[(Math.floor(at - 10 + 1e-9) % 4) as 0]! + 0.01));
      const zeros = new Float64Array(t.length);
      const samples = { t, x, y: zeros, z: zeros, held: true };
      for (const period of [4, null]) {
        const { windows } = findCycles(samples, { shape: "logged", period }, [0, 1000], defaultSettings);
        expect(windows[0]![0]).toBeCloseTo(10, 9);
      }
    }
  });

  test("that repeats with no period is taken as it is: only the log knows it", () => {
    // incommensurate swings: nothing repeats within a minute
    const wander = (turns: number) =>
      [
        0.05 * Math.sin(2.1 * turns) + 0.04 * Math.sin(3.37 * turns + 1),
        0.03 * Math.sin(1.27 * turns * (1 + 0.05 * turns)),
        0.02 * Math.cos(4.9 * turns) - 0.02,
      ] as const;
    const found = find({ ...flown, shape: wander }, { shape: "logged", period: 12 });
    expect(codes(found)).not.toContain("wrong-trajectory");
    expect(found.windows.length).toBeGreaterThan(0);
  });

  test("without one its whole moving stretch is one cycle", () => {
    const found = find(flown, { shape: "logged", period: null });
    expect(found.period).toBeNull();
    expect(found.checks).toEqual([]);
    expect(found.windows.length).toBe(1);
    // from the last message at rest to the last that moved: 50 Hz
    expect(Math.abs(found.windows[0]![0] - 20.0071)).toBeLessThan(0.021);
    expect(Math.abs(found.windows[0]![1] - 92.0071)).toBeLessThan(0.021);
  });
});
