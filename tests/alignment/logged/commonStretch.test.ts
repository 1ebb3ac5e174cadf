import { describe, expect, test } from "vitest";
import { commonStretch, type Flown } from "../../../src/alignment/logged/commonStretch.ts";
import { loggedFlight } from "../../../src/alignment/logged/loggedFlight.ts";
import { vehicleTrack } from "../../../src/alignment/subjectTracks.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import type { PoseTrack, Window } from "../../../src/foundation/tracks.ts";
import { evenTimes, poses } from "../signals.ts";

const still = [0, 0, 0, 1] as const;
/** A path that does not repeat within 40 s, at the height of 1 m; `s` counts from its begin. */
const path = (s: number, turn = 1): [number, number, number] => [
  Math.sin(0.5 * s * turn) + 0.3 * Math.sin(1.1 * s),
  Math.cos(0.37 * s * turn) - 1,
  1 + 0.1 * Math.sin(0.8 * s),
];

interface Made {
  /** the log begins this long before the take-off, s */
  readonly before?: number;
  /** climb, hover, path and descent, s; the path is of 30 s */
  readonly hover?: number;
  readonly lag?: number;
  /** constant offset of the vehicle, m */
  readonly off?: number;
  readonly turn?: number;
  /** the log ends this long after the path began, s */
  readonly ends?: number;
  readonly hasSpan?: boolean;
  readonly counts?: boolean;
}

/** A flight made of four parts: climb (2 s), hover, path (30 s), descent (2 s); where its path begins is known. */
function flown(id: string, made: Made = {}): Flown & { readonly begin: number } {
  const { before = 1, hover = 4, lag = 0.05, off = 0, turn = 1, ends = 34, hasSpan = false, counts = true } = made;
  const begin = before + 2 + hover;
  const asked = (t: number): [number, number, number] => {
    const s = t - begin;
    if (s < 0) return [0, 0, Math.min(1, Math.max(0.05, (t - before) / 2))];
    const [x, y, z] = path(Math.min(s, 30), turn);
    return s < 30 ? [x, y, z] : [x, y, Math.max(0.05, z - (s - 30) / 2)];
  };
  const t = evenTimes(50, begin + ends);
  const setpoint = poses(t, (time) => ({ p: asked(time), q: still }));
  const vehicle: PoseTrack = poses(t, (time) => {
    const [x, y, z] = asked(time - lag);
    return { p: [x + off, y, z], q: still };
  });
  const recorded: Window = [0, t[t.length - 1]!];
  const track = vehicleTrack(vehicle, setpoint);
  return {
    id,
    begin,
    flight: loggedFlight(setpoint, recorded, track, setpoint, recorded, hasSpan, defaultSettings),
    counts,
  };
}

const stretches = (runs: readonly Flown[]) => commonStretch(runs, defaultSettings);
const codes = (runs: readonly Flown[]): string[][] =>
  [...stretches(runs).values()].map(({ checks }) => checks.map(({ code, severity }) => `${code}:${severity}`));

describe("one flight", () => {
  test("takes off where it leaves the ground, arrives, and lands where its setpoint begins to go down", () => {
    const { flight, begin } = flown("a", { lag: 0.4 });
    // 0.1 m above where it stood: the climb is of 0.5 m/s from 0.05 m, so 0.3 s after its begin at 1 s, and 0.4 s of lag later
    expect(Math.abs(flight.takeOff! - 1.7)).toBeLessThan(0.03);
    // the climb of 0.5 m/s is followed 0.2 m below: within 0.1 m from half a second before the vehicle is up, at 3.4 s
    expect(Math.abs(flight.arrival! - 3.2)).toBeLessThan(0.05);
    // the last second of the path, which goes hardly aside, may pass for the descent
    expect(flight.landing! - begin).toBeGreaterThan(29);
    expect(flight.landing! - begin).toBeLessThan(30.1);
    expect(flight.own![0]).toBeCloseTo(flight.arrival! + 3, 9);
  });

  test("that begins and ends in the air has neither, and a span around it is kept as it is", () => {
    const t = evenTimes(50, 20);
    const setpoint = poses(t, (time) => ({ p: path(time), q: still }));
    // always 0.4 m off: it never arrives
    const vehicle = poses(t, (time) => ({ p: [path(time)[0] + 0.4, path(time)[1], path(time)[2]], q: still }));
    const recorded: Window = [0, t[t.length - 1]!];
    const made = (hasSpan: boolean) =>
      loggedFlight(setpoint, recorded, vehicleTrack(vehicle, setpoint), setpoint, recorded, hasSpan, defaultSettings);
    expect(made(false)).toMatchObject({ takeOff: null, arrival: null, landing: null, isDeclared: false });
    expect(made(true)).toMatchObject({ own: recorded, isDeclared: true });
    const [declared] = [...stretches([{ id: "a", flight: made(true), counts: true }]).values()];
    expect(declared).toMatchObject({ window: recorded, checks: [] });
  });
});

describe("runs that fly one command", () => {
  test("are scored over one stretch of it, from the latest start to the earliest landing, wherever their logs begin", () => {
    const runs = [
      flown("a", { before: 2 }),
      flown("b", { before: 0.5, hover: 0.5, lag: 0.3 }),
      flown("c", { hover: 6 }),
    ];
    const found = stretches(runs);
    const inPath = runs.map(({ id, begin }) => found.get(id)!.window!.map((at) => at - begin));
    for (const [from, to] of inPath) {
      // the same instants of the path for all, to a few milliseconds of laying them over each other
      expect(Math.abs(from! - inPath[0]![0]!)).toBeLessThan(5e-3);
      expect(Math.abs(to! - inPath[0]![1]!)).toBeLessThan(5e-3);
    }
    // b settles last in the path's own time: its own start is the common one
    expect(Math.abs(found.get("b")!.window![0] - runs[1]!.flight.own![0])).toBeLessThan(5e-3);
    expect(codes(runs)).toEqual([[], [], []]);
  });

  test("and one of which never arrives, ends early, or was excluded, do not let it shorten theirs", () => {
    const two = [flown("a"), flown("b", { hover: 6 })];
    const of = (runs: readonly Flown[]) => stretches(runs).get("a")!.window!;
    const alone = of(two);
    const off = flown("off", { off: 0.3, hover: 0.5 });
    expect(codes([...two, off])).toEqual([[], [], ["no-arrival:doubt"]]);
    expect(of([...two, off])).toEqual(alone);
    // it is scored where the others are
    const window = stretches([...two, off]).get("off")!.window!;
    expect(Math.abs(window[0] - off.begin - (alone[0] - two[0]!.begin))).toBeLessThan(5e-3);
    const cut = flown("cut", { ends: 8 });
    expect(codes([...two, cut])).toEqual([[], [], ["few-cycles:unusable"]]);
    expect(of([...two, cut])).toEqual(alone);
    const excluded = flown("excluded", { ends: 20, counts: false });
    expect(of([...two, excluded])).toEqual(alone);
  });
});

test("a run with another command is scored over its own flight and doubted; the others are not", () => {
  const runs = [flown("a"), flown("b"), flown("c", { turn: 1.7 })];
  expect(codes(runs)).toEqual([[], [], ["wrong-trajectory:doubt"]]);
  expect(stretches(runs).get("c")!.window).toEqual(runs[2]!.flight.own);
});

describe("runs that are all cut by hand", () => {
  /** A flight in the air from `from` to `to` seconds of the path, whose log begins there. */
  function cut(id: string, from: number, to: number, changes: { turn?: number; counts?: boolean } = {}): Flown {
    const { turn = 1, counts = true } = changes;
    const t = evenTimes(50, to - from);
    const setpoint = poses(t, (time) => ({ p: path(from + time, turn), q: still }));
    const vehicle = poses(t, (time) => ({ p: path(from + time - 0.05, turn), q: still }));
    const recorded: Window = [0, t[t.length - 1]!];
    const track = vehicleTrack(vehicle, setpoint);
    return { id, counts, flight: loggedFlight(setpoint, recorded, track, setpoint, recorded, true, defaultSettings) };
  }
  const doubt = ["wrong-trajectory:doubt"];

  test("to one stretch of the command keep it, wherever their logs begin, to a second more or less", () => {
    const runs = [cut("a", 5, 25), cut("b", 5.4, 25.3), cut("c", 4.6, 24.9)];
    expect(runs.map(({ flight }) => flight.isDeclared)).toEqual([true, true, true]);
    expect(codes(runs)).toEqual([[], [], []]);
    for (const { id, flight } of runs) expect(stretches(runs).get(id)!.window).toEqual(flight.own);
  });

  test("and of which one holds another part of it, or another command, have that one doubted, with what it shares", () => {
    const [a, b, c] = [cut("a", 5, 25), cut("b", 5, 25), cut("c", 5, 25)];
    expect(codes([a, b, c, cut("late", 11, 31)])).toEqual([[], [], [], doubt]);
    // 14 s of 26 s
    const [check] = stretches([a, b, c, cut("late", 11, 31)]).get("late")!.checks;
    expect(Math.abs((check!.evidence.shared_share as number) - 14 / 26)).toBeLessThan(2e-3);
    expect(codes([a, b, c, cut("half", 5, 15)])).toEqual([[], [], [], doubt]);
    expect(codes([a, b, c, cut("other", 5, 25, { turn: 1.7 })])).toEqual([[], [], [], doubt]);
    // of two that differ nobody knows which is meant
    expect(codes([a, cut("other", 5, 25, { turn: 1.7 })])).toEqual([doubt, doubt]);
    // one that does not count says nothing of the others, and nothing is said of it
    expect(codes([a, b, cut("excluded", 11, 31, { counts: false })])).toEqual([[], [], []]);
  });
});
