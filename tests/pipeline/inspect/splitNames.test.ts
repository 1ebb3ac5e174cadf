import { expect, test } from "vitest";
import { batteriesIn, splitNames } from "../../../src/pipeline/inspect/splitNames.ts";

/** How the paths of a flight day split, with the baseline behind it. */
const split = (...paths: string[]): string => {
  const found = splitNames(paths, []);
  return found === null ? "not" : `${found.words.join(" ")}; ${found.baseline}`;
};

test("configurations are what folders or words of names tell apart, each way that labs write it", () => {
  expect(split("a/1.csv", "a/2.csv", "b/1.csv", "b/2.csv")).toBe("a a b b; null");
  expect(split("no weights/1.bag", "no weights/2.bag", "weights/1.bag", "weights/2.bag")).toBe(
    "no weights no weights weights weights; no weights",
  );
  expect(split("f1_bare.bag", "f2_weighted.bag", "f3_bare.bag", "f4_weighted.bag")).toBe(
    "bare weighted bare weighted; bare",
  );
  expect(split("exp_W0_1.bag", "exp_W0_2.bag", "exp_W5_1.bag", "exp_W5_2.bag")).toBe("W0 W0 W5 W5; W0");
  expect(split('Früh "ohne"/1.bag', 'Früh "ohne"/2.bag', 'Früh "mit"/1.bag', 'Früh "mit"/2.bag')).toBe(
    'Früh "ohne" Früh "ohne" Früh "mit" Früh "mit"; Früh "ohne"',
  );
});

test("a name for each of three logs or more is no configuration, unless one of them says that nothing was added", () => {
  expect(split("anna.bag", "bert.bag", "carl.bag", "dora.bag")).toBe("not");
  expect(split("bare.bag", "light.bag", "heavy.bag")).toBe("bare light heavy; bare");
});

test("numbers, dates, packs and formats are no configurations", () => {
  expect(split("rec1.bag", "rec2.bag", "rec3.bag")).toBe("not");
  expect(split("run_1.bag", "run_2.bag", "run_3.bag", "run_4.bag")).toBe("not");
  expect(split("2025-10-14/1.bag", "2025-10-14/2.bag", "2025-10-15/1.bag", "2025-10-15/2.bag")).toBe("not");
  expect(split("mcap/1", "mcap/2", "sqlite3/1", "sqlite3/2")).toBe("not");
  expect(split("1_bat1.bag", "2_bat1.bag", "3_bat2.bag", "4_bat2.bag")).toBe("not");
});

test("packs are found where every name has one", () => {
  expect(batteriesIn(["1 bat1.bag", "2_bat2.bag", "pack-B/3.bag", "lipo 03/4.bag"])).toEqual([
    "pack-1",
    "pack-2",
    "pack-B",
    "pack-3",
  ]);
  expect(batteriesIn(["1 bat1.bag", "2.bag"])).toEqual([null, null]);
  // a word that only begins so is none
  expect(batteriesIn(["backpack.bag", "battle 2.bag"])).toEqual([null, null]);
});
