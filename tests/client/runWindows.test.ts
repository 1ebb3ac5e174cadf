import fc from "fast-check";
import { expect, test } from "vitest";
import {
  clampWindow,
  draggedWindow,
  readWindow,
  windowFields,
  windowText,
} from "../../client/views/run/checksSection.ts";
import { cropPath, isCoarse, pathWindow } from "../../client/views/run/cycleSections.ts";
import { extremesText, momentText } from "../../client/views/run/errorFigures.ts";

const extent = [0, 40] as const;

test("a window in whole hundredths survives its two fields", () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 3998 }), fc.integer({ min: 1, max: 4000 }), (a, size) => {
      const window = [a / 100, Math.min(4000, a + size) / 100] as const;
      const { from, to } = windowFields(window);
      expect(readWindow(from, to, extent)).toEqual({ window });
    }),
    { seed: 7, numRuns: 300 },
  );
});

test("what is typed is read as people write it, and cut to the recording", () => {
  expect(readWindow(" 1,5", "2.25 ", extent)).toEqual({ window: [1.5, 2.25] });
  expect(readWindow("−3", "50", extent)).toEqual({ window: [0, 40] });
});

test("what is no window says which field is wrong, what was found and what was expected", () => {
  expect(readWindow("", "3", extent)).toMatchObject({
    field: "from",
    wrong: expect.stringContaining("expected seconds"),
  });
  expect(readWindow("1", "1e9999", extent)).toMatchObject({ field: "to", wrong: expect.stringContaining("1e9999") });
  expect(readWindow("5", "5", extent)).toMatchObject({
    field: "to",
    wrong: expect.stringContaining("after the start"),
  });
  expect(readWindow("50", "60", extent)).toMatchObject({
    field: "from",
    wrong: expect.stringContaining("0.00 to 40.00 s"),
  });
});

test("a drag marks a window in either direction, a mere click marks none", () => {
  expect(draggedWindow(12.3456, 10.001, 0.1, extent)).toEqual([10, 12.35]);
  expect(draggedWindow(10, 10.05, 0.1, extent)).toBeNull();
  expect(draggedWindow(39, 41, 0.1, extent)).toEqual([39, 40]);
  expect(clampWindow([41, 45], extent)).toBeNull();
  expect(windowText([20, 25.5])).toBe("20.00 to 25.50 s");
});

test("the path drawn is that of the marked window, else of the cycles, of many the first, else of the hold", () => {
  const cycles = (count: number): [number, number][] => Array.from({ length: count }, (_, k) => [10 + k, 11 + k]);
  expect(pathWindow([1, 2], cycles(3), [0, 9]).window).toEqual([1, 2]);
  expect(pathWindow(null, cycles(3), [0, 9])).toEqual({ window: [10, 13], text: "all 3 cycles" });
  expect(pathWindow(null, cycles(100), null)).toEqual({ window: [10, 34], text: "cycles 1 to 24 of 100" });
  expect(pathWindow(null, [], [0, 9]).window).toEqual([0, 9]);
  expect(pathWindow(null, [], null).window).toBeNull();
});

test("a path is cut to a window, its end not included, and parts without a point are left out", () => {
  const line = (t: number[]) => ({ t, x: t.map((v) => 2 * v), y: t, z: t });
  const cut = cropPath({ measured: [line([0, 1, 2]), line([5, 6, 7]), line([20])], command: [line([4, 8])] }, [2, 7]);
  expect(cut.measured.map(({ t }) => t)).toEqual([[2], [5, 6]]);
  expect(cut.measured[0]!.x).toEqual([4]);
  expect(cut.command.map(({ t }) => t)).toEqual([[4]]);
});

test("a path is coarse where a cycle holds fewer points than asked for, never where nothing repeats", () => {
  expect(isCoarse([0, 0.2, 0.4], 1.6, 16)).toBe(true);
  expect(isCoarse([0, 0.05, 0.1], 1.6, 16)).toBe(false);
  expect(isCoarse([0, 0.05, 0.1], 1.6, 64)).toBe(true);
  expect(isCoarse([0, 9], null, 64)).toBe(false);
});

test("a moment is named by its cycle and phase, or by the hold", () => {
  const cycles = [
    [10, 12],
    [12, 14],
  ] as const;
  expect(momentText(13, cycles, [2, 9])).toBe("cycle 2 at 180°");
  expect(momentText(12, cycles, [2, 9])).toBe("cycle 2 at 0°");
  expect(momentText(5, cycles, [2, 9])).toBe("hold");
  expect(momentText(9.5, cycles, [2, 9])).toBe("");
});

test("a column reads as its extremes, a sample as one number", () => {
  const column = { start: 0, end: 1, extremes: { x: [-0.0012, 0.0034], y: [0.001, 0.001], z: [0, 0] } } as const;
  expect(extremesText(column, "x", 1)).toBe("−1.2 … 3.4 mm");
  expect(extremesText(column, "y", 2)).toBe("1.00 mm");
});
