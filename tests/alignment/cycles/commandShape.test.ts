import { describe, expect, test } from "vitest";
import { commandShape } from "../../../src/alignment/cycles/commandShape.ts";
import type { CommandSamples } from "../../../src/alignment/cycles/waveform.ts";

/** A circle of 60 mm in y and z at 50 Hz between two rests of 5 s, which is what was asked for. */
function circle(period: number, cycles: number): CommandSamples {
  const t = Float64Array.from({ length: Math.round(50 * (10 + period * cycles)) + 1 }, (_, i) => i / 50);
  const phase = t.map((at) => (2 * Math.PI * Math.min(Math.max(at - 5, 0), period * cycles)) / period);
  return {
    t,
    x: t.map(() => 0.2),
    y: phase.map((angle) => 0.06 * Math.cos(angle)),
    z: phase.map((angle) => 0.06 * Math.sin(angle)),
  };
}

describe("a period that other commands had saves the search and changes nothing", () => {
  test.each([
    ["the same", [1.5]],
    ["near", [1.51]],
    ["twice as long: it repeats with that as well", [3]],
    ["three times as long, and half", [4.5, 0.75]],
    ["of another trajectory", [2.1]],
  ])("%s", (_, likely) => {
    const shape = commandShape(circle(1.5, 12));
    expect(shape).toMatchObject({ shape: "circle", plane: "yz", cycles: 12, period: expect.closeTo(1.5, 4) });
    expect(shape).toMatchObject({ radius: expect.closeTo(0.06, 4) });
    const found = commandShape(circle(1.5, 12), likely);
    // both searches end within 1e-7 of a period; a draft writes four digits
    expect(found).toEqual({
      ...shape,
      period: expect.closeTo((shape as { period: number }).period, 5),
      radius: expect.closeTo((shape as { radius: number }).radius, 6),
    });
  });
});

describe("a command that steps from place to place", () => {
  /** Rests of some seconds, each 100 mm further, at 50 Hz. */
  const steps = (...rests: readonly number[]): CommandSamples => {
    const x = rests.flatMap((seconds, k) => Array.from({ length: 50 * seconds }, () => 0.1 * k));
    const still = new Float64Array(x.length);
    return { t: Float64Array.from(x, (_, i) => i / 50), x: Float64Array.from(x), y: still, z: still };
  };

  test("is a hold where it rests long enough to settle and be judged, however it came there", () => {
    expect(commandShape(steps(12))).toMatchObject({ shape: "hold" });
    expect(commandShape(steps(2, 3, 12, 2))).toMatchObject({ shape: "hold", duration: expect.closeTo(12, 1) });
  });

  test("is what the log says where no rest is as long as an evaluation wants: 3 s to settle and 5 s to judge", () => {
    expect(commandShape(steps(7, 6, 7))).toMatchObject({ shape: "logged", period: null });
    expect(commandShape(steps(9, 6, 7))).toMatchObject({ shape: "hold" });
  });
});
