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

test("a change below a millimetre is none, one above it is", () => {
  const stepped = (by: number) => held(evenTimes(50, 40), (t) => (t < 20 ? 0 : by));
  const small = find([stepped(0.0009)], [0, 39])!;
  expect(small[1] - small[0]).toBeGreaterThan(30);
  const large = find([stepped(0.0011)], [0, 39])!;
  expect(large[1] - large[0]).toBeLessThan(17.1);
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

test("the window is as long as an exhaustive search finds, less the settling", () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 100_000 }), fc.integer({ min: 1, max: 2 }), (seed, count) => {
      const random = seededRandom(seed);
      const commands = Array.from({ length: count }, () => {
        const t = evenTimes(4 + 3 * random.uniform(), 40, random.uniform());
        let level = 0;
        let next = 0;
        return held(t, (time) => {
          if (time >= next) {
            // steps of 0.3 mm (no change alone, a change together) or of centimetres
            level += random.uniform() < 0.5 ? 0.0003 : 0.05;
            next = time + 12 * random.uniform();
          }
          return level;
        });
      });
      const within: Window = [2 + random.uniform(), 38 + random.uniform()];
      const found = find(commands, within);
      const longest = bruteForce(commands, within);
      if (longest - 3 < 5) {
        expect(found).toBeNull();
        return;
      }
      // at the end up to one step of less than a millimetre may be shed, never more than what it lasted
      expect(found).not.toBeNull();
      expect(found![1] - found![0]).toBeLessThanOrEqual(longest - 3 + 1e-9);
      const bySteps = commands.length === 1 ? longest - 3 : 0;
      expect(found![1] - found![0]).toBeGreaterThanOrEqual(Math.min(5, bySteps) - 1e-9);
    }),
    { seed: 111, numRuns: 60 },
  );
});

test("with steps of centimetres the window is the exhaustive search's to the last digits", () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 100_000 }), fc.integer({ min: 1, max: 2 }), (seed, count) => {
      const random = seededRandom(seed);
      const commands = Array.from({ length: count }, () => {
        const t = evenTimes(4 + 3 * random.uniform(), 40, random.uniform());
        let level = 0;
        let next = 0;
        return held(t, (time) => {
          if (time >= next) {
            level += 0.02 + 0.05 * random.uniform();
            next = time + 3 + 15 * random.uniform();
          }
          return level;
        });
      });
      const within: Window = [2 + random.uniform(), 38 + random.uniform()];
      const found = find(commands, within);
      const longest = bruteForce(commands, within);
      if (longest - 3 < 5 - 1e-9) expect(found).toBeNull();
      else expect(found![1] - found![0]).toBeCloseTo(longest - 3, 9);
    }),
    { seed: 112, numRuns: 60 },
  );
});
