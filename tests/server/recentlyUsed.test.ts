import { expect, test } from "vitest";
import { recentlyUsed } from "../../server/rememberRuns.ts";

const counting = (): { made: string[]; make: (key: string) => () => Promise<string> } => {
  const made: string[] = [];
  return {
    made,
    make: (key) => async () => {
      made.push(key);
      return key;
    },
  };
};

test("what was used longest ago goes first when there are too many", async () => {
  const kept = recentlyUsed<string>({ most: 2, heaviest: 100, weigh: () => 1 });
  const { made, make } = counting();
  for (const key of ["a", "b", "a", "c", "a", "b"]) await kept.get(key, make(key));
  // b went when c came, since a had been used after it
  expect(made).toEqual(["a", "b", "c", "b"]);
  expect(kept.size()).toBe(2);
});

test("the weight bounds what is kept, and the newest stays even where it alone is too heavy", async () => {
  const kept = recentlyUsed<string>({ most: 10, heaviest: 5, weigh: (value) => (value === "heavy" ? 9 : 2) });
  const { made, make } = counting();
  for (const key of ["a", "b", "c", "b", "heavy", "heavy", "b"]) await kept.get(key, make(key));
  expect(made).toEqual(["a", "b", "c", "heavy", "b"]);
});

test("asked for twice at once it is made once; a failure is not kept", async () => {
  const kept = recentlyUsed<string>({ most: 2, heaviest: 100, weigh: () => 1 });
  const { made, make } = counting();
  await Promise.all([kept.get("a", make("a")), kept.get("a", make("a"))]);
  expect(made).toEqual(["a"]);
  const fail = (): Promise<string> => Promise.reject(new Error("no"));
  await expect(kept.get("b", fail)).rejects.toThrow("no");
  expect(await kept.get("b", make("b"))).toBe("b");
});
