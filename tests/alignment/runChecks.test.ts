import { describe, expect, test } from "vitest";
import { buildCommandTrack } from "../../src/alignment/commandTrack.ts";
import { runChecks } from "../../src/alignment/runChecks.ts";
import { vehicleTrack } from "../../src/alignment/subjectTracks.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { Check } from "../../src/foundation/checks.ts";
import type { Window } from "../../src/foundation/tracks.ts";
import { circle } from "./cycles/commands.ts";
import { evenTimes, poses, signal } from "./signals.ts";

type Facts = Parameters<typeof runChecks>[0];

/** A vehicle at `x` of time about a setpoint of 0, or at `asked` of time. */
function facts(changes: Partial<Facts> = {}, x = (_: number): number => 0, asked = (_: number): number => 0): Facts {
  const t = evenTimes(50, 40);
  const zero = new Float64Array(t.length);
  const setpoint = buildCommandTrack(
    signal({ at: t, columns: { x: t.map(asked), y: zero, z: zero } }),
    t,
    Uint32Array.from(t, (_, i) => i),
    "linear",
    defaultSettings,
  );
  return {
    trajectory: circle(),
    vehicle: vehicleTrack(
      poses(evenTimes(100, 39), (time) => ({ p: [x(time), 0, 0] })),
      setpoint,
    ),
    setpoint,
    recorded: [0, 39],
    hold: [3, 18],
    scored: [20, 38],
    period: 1.508,
    interval: 0.01,
    ...changes,
  };
}
const check = (found: Facts) => runChecks(found, defaultSettings);

test("a sound run raises none", () => {
  expect(check(facts())).toEqual([]);
});

describe("the hold window", () => {
  const hold = { shape: "hold", duration: 60 } as const;

  test("none is a note where cycles are scored, and makes a hold unusable", () => {
    expect(check(facts({ hold: null }))).toMatchObject([
      { code: "short-hold", severity: "note", evidence: { hold_s: 0 } },
    ]);
    expect(check(facts({ hold: null, trajectory: hold, scored: null, period: null }))).toMatchObject([
      { code: "short-hold", severity: "unusable" },
    ]);
  });

  test("a short one is a note, and a doubt where the hold is what is judged", () => {
    expect(check(facts({ hold: [3, 12.9] }))).toMatchObject([{ code: "short-hold", severity: "note" }]);
    expect(check(facts({ hold: [3, 13] }))).toEqual([]);
    // half of the 60 s declared
    const window: Window = [3, 32];
    expect(check(facts({ hold: window, trajectory: hold, scored: window, period: null }))).toMatchObject([
      { code: "short-hold", severity: "doubt", evidence: { advised_s: 30 } },
    ]);
  });
});

describe("the rate of the poses", () => {
  test("below 20 Hz, or below 20 a cycle, is a doubt", () => {
    expect(check(facts({ interval: 1 / 15 }))).toMatchObject([{ code: "low-rate", severity: "doubt" }]);
    expect(check(facts({ interval: 1 / 25, period: 0.5 }))).toMatchObject([
      { code: "low-rate", evidence: { samples_per_cycle: 12.5 } },
    ]);
    expect(check(facts({ interval: 1 / 25 }))).toEqual([]);
    expect(check(facts({ interval: 1 / 25, period: null }))).toEqual([]);
  });
});

describe("a vehicle that runs away", () => {
  test("is more than a metre from a resting setpoint at the end and getting further", () => {
    const found = check(facts({}, (t) => (t < 34 ? 0 : 0.5 * (t - 34))));
    expect(found).toMatchObject([{ code: "runaway", severity: "doubt", evidence: { at_s: 38 } }]);
    // mean of the last second: 0.5 x 3.5 s
    expect(found[0]!.evidence.distance_m as number).toBeCloseTo(1.75, 2);
  });

  test("is not one that stands off by a constant 1.2 m, nor one that comes back", () => {
    expect(check(facts({}, () => 1.2))).toEqual([]);
    expect(check(facts({}, (t) => (t < 34 ? 4 : 4 - 0.5 * (t - 34))))).toEqual([]);
  });

  test("is not one whose setpoint was moved away from it", () => {
    expect(
      check(
        facts(
          {},
          () => 0,
          (t) => (t < 34 ? 0 : 0.5 * (t - 34)),
        ),
      ),
    ).toEqual([]);
  });

  test("is looked for at the end of the recording where nothing is scored", () => {
    const found = check(facts({ scored: null }, (t) => (t < 35 ? 0 : 0.6 * (t - 35))));
    expect(found).toMatchObject([{ code: "runaway", evidence: { at_s: 39 } }]);
  });

  describe("from a command that moves as well as from one that rests", () => {
    // a circle of 2 m in 8 s, followed with 0.3 m of lag
    const moving = (t: number): number => 2 * Math.sin((2 * Math.PI * t) / 8);
    const lagging = (t: number): number => moving(t - 0.2) - moving(t);
    const flown = (error: (t: number) => number): Check[] =>
      check(facts({}, (t) => moving(t) + error(t), moving)).filter(({ code }) => code === "runaway");

    test("is unusable where it leaves it for good, with place and distance", () => {
      const found = flown((t) => lagging(t) + Math.max(0, 2 * (t - 30)));
      expect(found).toMatchObject([{ severity: "unusable" }]);
      // nor does it matter that the flight began on the ground, 3 m below its setpoint
      const risen = flown((t) => lagging(t) + Math.max(0, 3 - t) + Math.max(0, 2 * (t - 30)));
      expect(risen).toMatchObject([{ severity: "unusable" }]);
      // 2 m away a second after 30 s, give or take the lag; 16 m at the end
      expect(Math.abs((found[0]!.evidence.leaves_at_s as number) - 31)).toBeLessThan(0.3);
      expect(Math.abs((found[0]!.evidence.farthest_m as number) - 16)).toBeLessThan(0.5);
    });

    test("is none that comes back, none that was as far from the beginning on, none that swings to and fro in a turned frame", () => {
      expect(flown((t) => lagging(t) + (t > 20 && t < 25 ? 8 : 0))).toEqual([]);
      expect(flown((t) => 8 + lagging(t))).toEqual([]);
      expect(flown((t) => -2 * moving(t))).toEqual([]);
    });
  });
});
