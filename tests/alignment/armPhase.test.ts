import { expect, test } from "vitest";
import { armPhase } from "../../src/alignment/armPhase.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import { randomStream } from "../../src/simulation/attitude.ts";

const t = Float64Array.from({ length: 1000 }, (_, i) => i * 0.02);
/** Rests for 8 s, swings six times in 9 s, rests. */
const swing = (at: number): number => 90 + 11 * Math.sin((2 * Math.PI * (Math.min(Math.max(at, 8), 17) - 8)) / 1.5);
const phaseOf = (value: Float64Array) =>
  armPhase(
    { signal: "arm_phase", columns: { value }, given: {} } as unknown as RecordedSignal,
    t,
    Uint32Array.from(t, (_, i) => i),
    { declared: null, period: 1.5 },
    defaultSettings,
  );

test("a column that rests to the last digit is scaled to a range of 1, and not otherwise changed", () => {
  const { x, y, z, between } = phaseOf(t.map(swing))!;
  expect(between).toBe("linear");
  expect([...y, ...z].every((value) => value === 0)).toBe(true);
  // 90 - 11 to 90 + 11, as nearly as the samples meet the ends
  for (const [i, value] of x.entries()) expect(value).toBeCloseTo((swing(t[i]!) - 79) / 22, 3);
  expect(Math.max(...x) - Math.min(...x)).toBeCloseTo(1, 12);
});

test("at rest a noisy column is held, and what it held before an arm was unfolded does not hide small swings", () => {
  const random = randomStream(3, "encoder");
  const { x } = phaseOf(t.map((at) => swing(at) + (at < 2 ? -200 : 0) + 0.05 * random.normal()))!;
  const rest = [...x.subarray(150, 390)];
  expect(new Set(rest).size).toBe(1);
  const motion = [...x.subarray(405, 845)];
  expect(new Set(motion).size).toBe(motion.length);
});

test("noise alone, and a constant, do not move; a column without a number is none", () => {
  const random = randomStream(5, "encoder");
  expect(new Set(phaseOf(t.map(() => random.normal()))!.x)).toEqual(new Set([0]));
  expect(new Set(phaseOf(t.map(() => 42))!.x)).toEqual(new Set([0]));
  expect(phaseOf(t.map(() => Number.NaN))).toBe(null);
});
