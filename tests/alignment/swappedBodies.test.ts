import { expect, test } from "vitest";
import type { Excursion } from "../../src/alignment/excursions.ts";
import { screenPoses } from "../../src/alignment/poseFaults.ts";
import { findSwaps } from "../../src/alignment/steps/judgeRun.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { noisyFlight } from "./signals.ts";

const vehicleAt = [0, 0, 1.5] as const;
const toolAt = [0.2, 0, 1.2] as const;
const excursion = (
  from: number,
  before: readonly [number, number, number],
  after: readonly [number, number, number],
): Excursion => ({ from, to: from + 0.4, before, after });

test("two bodies that go to each other's place at the same time have changed places", () => {
  const faults = findSwaps([excursion(3, vehicleAt, toolAt)], [excursion(3.01, toolAt, vehicleAt)], 0.01);
  expect(faults).toMatchObject([{ code: "swap", stretches: [[3, 3.01 + 0.4]] }]);
  // 0.4 s at 100 Hz, both ends
  expect(faults[0]!.samples).toBe(41);
});

test("the same move half a second apart is not a swap", () => {
  expect(findSwaps([excursion(3, vehicleAt, toolAt)], [excursion(3.5, toolAt, vehicleAt)], 0.01)).toEqual([]);
});

test("two reflections at once are not a swap: each goes elsewhere", () => {
  const elsewhere = [3, 2, 0] as const;
  expect(findSwaps([excursion(3, vehicleAt, elsewhere)], [excursion(3, toolAt, vehicleAt)], 0.01)).toEqual([]);
  expect(findSwaps([excursion(3, vehicleAt, toolAt)], [excursion(3, toolAt, elsewhere)], 0.01)).toEqual([]);
});

test("one body alone cannot have changed places", () => {
  expect(findSwaps([excursion(3, vehicleAt, toolAt)], [], 0.01)).toEqual([]);
});

test("labels exchanged in two noisy tracks are found from the excursions of the screening", () => {
  const vehicle = noisyFlight(80, 100, 10);
  const tool = noisyFlight(81, 100, 10);
  const x = tool.x.map((value) => value + 0.15);
  const z = tool.z.map((value) => value - 0.3);
  const mixed = (own: Float64Array, other: Float64Array): Float64Array =>
    own.map((value, i) => (i >= 400 && i < 440 ? other[i]! : value));
  const a = screenPoses(
    { ...vehicle, x: mixed(vehicle.x, x), y: mixed(vehicle.y, tool.y), z: mixed(vehicle.z, z) },
    defaultSettings,
  );
  const b = screenPoses(
    { ...tool, x: mixed(x, vehicle.x), y: mixed(tool.y, vehicle.y), z: mixed(z, vehicle.z) },
    defaultSettings,
  );
  expect(findSwaps(a.excursions, b.excursions, 0.01)).toMatchObject([
    { code: "swap", samples: 40, stretches: [[4, 4.39]] },
  ]);
});
