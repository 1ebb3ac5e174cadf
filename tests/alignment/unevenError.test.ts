import { expect, test } from "vitest";
import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import { unevenError } from "../../src/alignment/unevenError.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { Check } from "../../src/foundation/checks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { evenTimes } from "./signals.ts";

/** An error of 10 mm throughout along all axes, and of `knock` metres along z between two instants, 100 Hz for 40 s. */
function track(knock: number, [from, to]: readonly [number, number]): SubjectTrack {
  const t = evenTimes(100, 40);
  const flat = t.map((_, i) => (i % 2 === 0 ? 0.01 : -0.01));
  const z = flat.map((value, i) => (t[i]! >= from && t[i]! < to ? knock : value));
  const error = { x: flat, y: flat, z };
  return { t, measured: error, error, command: { t, ...error } };
}
const found = (one: SubjectTrack): Check[] => unevenError({ vehicle: one }, [5, 35], false, defaultSettings);

test("a stretch of 2 s in 30 that carries more than half of the mean square is named with its place, axis and share", () => {
  // 2 s at k mm against 28 s at 10 mm; the heaviest 3 s hold 1 s of those too: (2 k^2 + 1) / (2 k^2 + 28) with k in units of 10 mm
  const share = (k: number): number => (2 * k * k + 1) / (2 * k * k + 28);
  expect(share(3.4)).toBeLessThan(0.5);
  expect(found(track(0.034, [20, 22]))).toEqual([]);
  expect(share(4)).toBeGreaterThan(0.5);
  const [check] = found(track(0.04, [20, 22]));
  expect(check).toMatchObject({
    code: "uneven-error",
    severity: "doubt",
    evidence: { axes: ["z"] },
    touches: { subjects: ["vehicle"], axes: ["z"], windows: ["cycles"] },
  });
  // a sample more or less at the ends of 3 s
  expect(Math.abs((check!.evidence.share as number) - share(4))).toBeLessThan(0.003);
  expect(check!.evidence.from_s as number).toBeLessThanOrEqual(20);
  expect(check!.evidence.to_s as number).toBeGreaterThanOrEqual(21.9);
});

test("an error at the beginning of the window is said to be there; one outside of it is not looked at", () => {
  expect(found(track(0.3, [4, 6]))[0]!.message).toContain("its beginning, 5.00 to");
  expect(found(track(0.3, [33, 36]))[0]!.message).toContain("its end, ");
  expect(found(track(0.3, [1, 4.9]))).toEqual([]);
});

test("slow wandering of a hover, and an error that grows steadily, are even enough", () => {
  const random = seededRandom(77);
  const t = evenTimes(100, 40);
  // correlation time of 2 s, a fifteenth of the window
  const keep = Math.exp(-0.01 / 2);
  let doubted = 0;
  for (let n = 0; n < 100; n++) {
    let state = random.normal();
    const wander = t.map(() => {
      state = keep * state + Math.sqrt(1 - keep * keep) * random.normal();
      return 0.01 * state;
    });
    const error = { x: wander, y: t.map((time) => 1e-3 * time), z: wander };
    const wandering: SubjectTrack = { t, measured: error, error, command: { t, ...error } };
    doubted += unevenError({ vehicle: wandering }, [5, 35], true, defaultSettings).length;
  }
  expect(doubted).toBe(0);
});
