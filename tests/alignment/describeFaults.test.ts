import { expect, test } from "vitest";
import { describeFaults } from "../../src/alignment/describeFaults.ts";
import type { Fault } from "../../src/alignment/poseFaults.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { CheckCode } from "../../src/foundation/checks.ts";
import type { Window } from "../../src/foundation/tracks.ts";

const fault = (code: CheckCode, samples: number, ...stretches: [number, number][]): Fault => ({
  code,
  samples,
  stretches,
  detail: "poses that are no measurement",
  hint: "look",
});

/** On a clock 100 s ahead, at 100 Hz, a scored window of 20 s from 10 s. */
const grade = (found: Fault, valid = 1, scored: Window | null = [10, 30]) =>
  describeFaults("vehicle_pose", [found], (t) => t - 100, scored, valid, 0.01, defaultSettings)[0]!;

test("a fault outside the scored window, or where nothing is scored, is a note", () => {
  expect(grade(fault("frozen", 300, [101, 104])).severity).toBe("note");
  expect(grade(fault("frozen", 300, [115, 118]), 1, null).severity).toBe("note");
});

test("a long fault inside the window is a doubt, a short one a note", () => {
  expect(grade(fault("frozen", 300, [115, 118])).severity).toBe("doubt");
  // two samples of two thousand: 0.02 s of 20
  expect(grade(fault("jump", 2, [115, 115.01])).severity).toBe("note");
});

test("a gap is a doubt from a quarter of a second or a hundredth of the window", () => {
  expect(grade(fault("gap", 8, [115, 115.1])).severity).toBe("note");
  expect(grade(fault("gap", 28, [115, 115.3])).severity).toBe("doubt");
  const many = Array.from({ length: 10 }, (_, k): [number, number] => [111 + k, 111.05 + k]);
  expect(grade(fault("gap", 40, ...many)).severity).toBe("doubt");
});

test("where less than nine tenths of the window is valid, what cost it is unusable", () => {
  expect(grade(fault("gap", 400, [115, 119]), 0.8).severity).toBe("unusable");
  expect(grade(fault("frozen", 400, [115, 119]), 0.899).severity).toBe("unusable");
  expect(grade(fault("frozen", 400, [115, 119]), 0.9).severity).toBe("doubt");
});

test("what was lost moves bias and spread from a twentieth of the window on, and only what rests on its signal", () => {
  const subjects = ["vehicle", "arm"];
  expect(grade(fault("gap", 90, [115, 115.9])).touches).toEqual({ subjects, part: "peaks" });
  expect(grade(fault("gap", 110, [115, 116.1])).touches).toEqual({ subjects });
  // which side of a jump is right cannot be reported: a part of any length may be the wrong one
  expect(grade({ ...fault("jump", 90, [115, 115.9]), unsure: true }).touches).toEqual({ subjects });
  expect(grade(fault("swap", 8, [115, 115.08]))).toMatchObject({ severity: "doubt" });
  expect(grade(fault("swap", 8, [115, 115.08])).touches).toEqual({ subjects });
});

test("six losses of 60 ms, less than a hundredth of the window, are a note whatever lost them", () => {
  const many = Array.from({ length: 3 }, (_, k): [number, number] => [111 + k, 111.05 + k]);
  for (const code of ["gap", "frozen", "bad-quaternion", "jump"] as const)
    expect(grade(fault(code, 15, ...many)).severity).toBe("note");
});

test("in a window that something else ruined, a small fault is not what ruined it", () => {
  expect(grade(fault("jump", 2, [115, 115.01]), 0.5).severity).toBe("note");
});

test("evidence is on the run's clock and can be checked", () => {
  const check = grade(fault("frozen", 160, [109.5, 110.5], [120, 120.6]));
  expect(check.code).toBe("frozen");
  expect(check.message).toBe(
    "vehicle_pose: 160 poses that are no measurement in 2 stretches, the longest 1.00 s from 9.50 s",
  );
  expect(check.evidence).toMatchObject({
    samples: 160,
    stretches: 2,
    longest_from_s: 9.5,
    first_stretches_s: [9.5, 10.5, 20, 20.6],
  });
  expect(check.evidence.total_s).toBeCloseTo(1.6, 9);
  // 0.5 s of the first and 0.6 s of the second lie inside, and one interval for each
  expect(check.evidence.in_scored_window_s).toBeCloseTo(1.12, 9);
});

test("no fault, no check", () => {
  expect(describeFaults("vehicle_pose", [], (t) => t, [0, 1], 1, 0.01, defaultSettings)).toEqual([]);
});
