import fc from "fast-check";
import { expect, test } from "vitest";
import { findHoldWindow } from "../../src/alignment/holdWindow.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { PoseTrack, Window } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { evenTimes, poses, turn } from "./signals.ts";

const find = (commands: readonly PoseTrack[], within: Window) => findHoldWindow(commands, within, defaultSettings);
const held = (t: Float64Array, x: (t: number) => number): PoseTrack => poses(t, (time) => ({ p: [x(time), 0, 1.5] }));

test("the hold starts 3 s after the last change and lasts to the next", () => {
  const command = held(evenTimes(50, 60), (t) => (t < 10 ? 0 : t < 40 ? 0.2 : 0.3));
  const window = find([command], [0, 59])!;
  expect(window[0]).toBeCloseTo(13, 9);
  // the last message before the step, at 39.98 s
  expect(window[1]).toBeCloseTo(39.98, 9);
});

test("the hold ends where the next motion begins, not where it has gone a millimetre", () => {
  // 4 mm/s2 from 40 s on: a millimetre is gone 0.7 s later
  const command = held(evenTimes(50, 60), (t) => (t < 40 ? 0 : 0.002 * (t - 40) ** 2));
  const window = find([command], [0, 59])!;
  expect(window[0]).toBeCloseTo(3, 9);
  expect(window[1]).toBeCloseTo(40, 9);
});

test("the first message of a command counts as a change: a take-off is not scored", () => {
  const command = held(evenTimes(50, 30), () => 0.4);
  expect(find([command], [0, 29])![0]).toBeCloseTo(3, 9);
  // poses from 5 s on: the settling counts from what is recorded
  const late = find([command], [5, 29])!;
  expect(late[0]).toBeCloseTo(8, 9);
  expect(late[1]).toBeCloseTo(29, 9);
});

test("a command that starts after the poses is a change where it starts", () => {
  const command = held(evenTimes(50, 20, 10), () => 0.4);
  expect(find([command], [0, 29])![0]).toBeCloseTo(13, 9);
});

test("5 s must remain after settling", () => {
  const resting = (seconds: number) => held(evenTimes(50, 30), (t) => (t < seconds ? 0 : 0.05 * t));
  // 3 s of settling and 5 s: the last message at rest must come at 8 s
  expect(find([resting(8.02)], [0, 29.5])).not.toBeNull();
  expect(find([resting(7.98)], [0, 29.5])).toBeNull();
});

test("a step of 1.1 mm ends a hold", () => {
  const window = find([held(evenTimes(50, 40), (t) => (t < 20 ? 0 : 0.0011))], [0, 39])!;
  expect(window[1] - window[0]).toBeLessThan(17.1);
});

test.each([10, 20, 30])("a step of 0.9 mm at %i s does not: commands are constant to a millimetre", (at) => {
  const window = find([held(evenTimes(50, 40), (t) => (t < at ? 0 : 0.0009))], [0, 39])!;
  expect(window[0]).toBeCloseTo(3, 9);
  expect(window[1]).toBeCloseTo(39, 9);
});

test("a command that creeps is not constant, however small its steps", () => {
  // 1 mm in 4 s at 0.25 mm/s
  expect(find([held(evenTimes(50, 60), (t) => 0.00025 * t)], [0, 59])).toBeNull();
});

test("a turn of the commanded attitude by 2 degrees is a change", () => {
  const t = evenTimes(50, 40);
  const command = poses(t, (time) => ({ p: [0, 0, 1.5], q: turn([0, 0, 1], time < 20 ? 0 : (2 * Math.PI) / 180) }));
  const window = find([command], [0, 39])!;
  expect(window[1] - window[0]).toBeLessThan(17.1);
});

test("both commands must rest", () => {
  const setpoint = held(evenTimes(50, 60), (t) => (t < 30 ? 0 : 1));
  const arm = held(evenTimes(20, 60), (t) => (t > 10 && t < 25 ? 0.06 * Math.sin(t) : 0));
  const window = find([setpoint, arm], [0, 59])!;
  expect(window[0]).toBeGreaterThanOrEqual(33 - 0.021);
  expect(window[0]).toBeLessThan(33.06);
  expect(window[1]).toBeCloseTo(59, 1);
});

test("where nothing is commanded nothing is held", () => {
  const command = held(evenTimes(50, 60), (t) => (t > 20 && t < 22 ? Number.NaN : 0.4));
  const window = find([command], [0, 59])!;
  // the later part is longer: from 22 s, settled at 25 s
  expect(window[0]).toBeCloseTo(25, 1);
  expect(find([held(evenTimes(50, 60), () => Number.NaN)], [0, 59])).toBeNull();
});

/** The longest pair of instants between which every command stays within its limit, by looking at all pairs. */
function bruteForce(commands: readonly PoseTrack[], within: Window): number {
  const times = [within[0], within[1], ...commands.flatMap(({ t }) => [...t])]
    .filter((t) => t >= within[0] && t <= within[1])
    .sort((a, b) => a - b);
  // linear between the points of a command, looked up by walking: the obvious way
  const value = (track: PoseTrack, t: number): number => {
    for (let k = 0; k + 1 < track.t.length; k++) {
      if (track.t[k]! <= t && t <= track.t[k + 1]!) {
        return track.x[k]! + ((t - track.t[k]!) / (track.t[k + 1]! - track.t[k]!)) * (track.x[k + 1]! - track.x[k]!);
      }
    }
    return Number.NaN;
  };
  const table = commands.map((track) => times.map((t) => value(track, t)));
  let longest = 0;
  for (let i = 0; i < times.length; i++) {
    const low = table.map((row) => row[i]!);
    const high = [...low];
    for (let j = i; j < times.length; j++) {
      let constant = true;
      table.forEach((row, c) => {
        low[c] = Math.min(low[c]!, row[j]!);
        high[c] = Math.max(high[c]!, row[j]!);
        if (!(high[c]! - low[c]! <= 1e-3)) constant = false;
      });
      if (!constant) break;
      longest = Math.max(longest, times[j]! - times[i]!);
    }
  }
  return longest;
}

/** A command that holds, drawn as steps, at a few messages a second; `next` gives a level and how long it stays. */
function randomSteps(seed: number, next: (uniform: () => number) => { by: number; stays: number }): PoseTrack {
  const { uniform } = seededRandom(seed);
  const messages = evenTimes(4 + 3 * uniform(), 40, uniform());
  const t: number[] = [];
  const x: number[] = [];
  let level = 0;
  let until = 0;
  for (const time of messages) {
    if (time >= until) {
      if (t.length > 0) {
        t.push(time - 1e-6);
        x.push(level);
      }
      const { by, stays } = next(uniform);
      level += by;
      until = time + stays;
    }
    t.push(time);
    x.push(level);
  }
  return poses(Float64Array.from(t), (_, i) => ({ p: [x[i]!, 0, 1.5] }));
}

const anySeeds = fc.array(fc.integer({ min: 0, max: 100_000 }), { minLength: 1, maxLength: 2 });

test("with steps of centimetres the window is as long as an exhaustive search finds, less the settling", () => {
  fc.assert(
    fc.property(anySeeds, fc.double({ min: 0, max: 3, noNaN: true }), (seeds, late) => {
      const commands = seeds.map((seed) =>
        randomSteps(seed, (uniform) => ({ by: 0.02 + 0.05 * uniform(), stays: 3 + 15 * uniform() })),
      );
      const within: Window = [late, 38 + late / 3];
      const found = find(commands, within);
      const length = bruteForce(commands, within) - 3;
      if (length < 5) expect(found === null ? 0 : found[1] - found[0]).toBeLessThan(5 + 1e-6);
      // a step is drawn a microsecond wide
      else expect(Math.abs(found![1] - found![0] - length)).toBeLessThan(2e-6);
    }),
    { seed: 112, numRuns: 80 },
  );
});

test("with steps of any size, every command stays within a millimetre from 3 s before the window to its end", () => {
  fc.assert(
    fc.property(anySeeds, (seeds) => {
      const commands = seeds.map((seed) =>
        randomSteps(seed, (uniform) => ({ by: uniform() < 0.6 ? 0.0003 : 0.05, stays: 6 * uniform() })),
      );
      const found = find(commands, [1, 39]);
      if (found === null) return;
      expect(found[1] - found[0]).toBeLessThanOrEqual(bruteForce(commands, [1, 39]) - 3 + 1e-9);
      expect(bruteForce(commands, [found[0] - 3, found[1]])).toBeCloseTo(found[1] - found[0] + 3, 9);
    }),
    { seed: 113, numRuns: 60 },
  );
});
