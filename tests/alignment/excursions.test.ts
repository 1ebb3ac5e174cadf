import { expect, test } from "vitest";
import { screenPoses } from "../../src/alignment/poseFaults.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { quaternionFromEuler } from "../../src/numeric/quaternion.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

/** A rough hover: wander of 12 mm over 0.4 s, 0.3 mm and 0.02 rad of white noise, 240 Hz with stamps that jitter. */
function roughHover(seconds: number, seed: number) {
  const random = seededRandom(seed);
  const n = seconds * 240;
  const columns = Array.from({ length: 8 }, () => new Float64Array(n));
  const [t, x, y, z, qx, qy, qz, qw] = columns as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  const keep = Math.exp(-1 / 240 / 0.4);
  const state = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    t[i] = i / 240 + Math.max(-1e-3, Math.min(1e-3, 2e-4 * random.normal()));
    for (let axis = 0; axis < 3; axis++) {
      state[axis] = keep * state[axis]! + Math.sqrt(1 - keep * keep) * 0.012 * random.normal();
      [x, y, z][axis]![i] = 1 + state[axis]! + 3e-4 * random.normal();
    }
    [qx[i], qy[i], qz[i], qw[i]] = quaternionFromEuler(
      0.02 * random.normal(),
      0.02 * random.normal(),
      0.02 * random.normal(),
    );
  }
  return { t, x, y, z, qx, qy, qz, qw };
}

test("ten minutes of a rough hover with a noisy attitude hold no fault: noise is no jump, however long one waits", () => {
  const screened = screenPoses(roughHover(600, 3), defaultSettings);
  expect(screened.faults).toEqual([]);
});

test("in the same hover an attitude that flips by a quarter turn for a second is found, and nothing else", () => {
  const hover = roughHover(120, 4);
  const turn = Math.SQRT1_2;
  for (let i = 10_000; i < 10_240; i++) {
    const [a, b, c, d] = [hover.qx[i]!, hover.qy[i]!, hover.qz[i]!, hover.qw[i]!];
    // q o (a quarter turn about z)
    hover.qx[i] = turn * (a + b);
    hover.qy[i] = turn * (b - a);
    hover.qz[i] = turn * (c + d);
    hover.qw[i] = turn * (d - c);
  }
  const { faults } = screenPoses(hover, defaultSettings);
  expect(faults.map(({ code, samples }) => [code, samples])).toEqual([["jump", 240]]);
});
