import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { logFormats } from "../../src/catalogue/logFormats.ts";
import { describeWith } from "../support/available.ts";
import { damagePage, type SeedOutcome } from "./damagePage.ts";
import { readingOf } from "./judge.ts";
import { buildChild, runMutants } from "./runMutants.ts";
import { type Seed, seedLogs } from "./seeds.ts";

const root = resolve(import.meta.dirname, "../..");
const page = join(root, "client/manual/damage.md");
mkdirSync(join(root, "node_modules/.fuzz"), { recursive: true });
const folder = mkdtempSync(join(root, "node_modules/.fuzz/run-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Mutants of each reader, shared out among its seeds. */
const [few, many] = [200, 10_000];
const shareOf = (seeds: readonly Seed[], { format }: Seed, mutants: number): number =>
  Math.ceil(mutants / seeds.filter((other) => other.format === format).length);
/** Of the extreme numbers at every place each so-manieth: no divisor of their kinds, so that all have their turn. */
const stride = 1409;

/** Needs no more than a Python with sqlite3; scipy stands for Debian's. */
describeWith(["scipy"], "small damaged logs", () => {
  let seeds: readonly Seed[] = [];
  let smallest: readonly Seed[] = [];
  let child = "";
  beforeAll(async () => {
    [seeds, smallest, child] = await Promise.all([seedLogs(), seedLogs(2), buildChild(folder)]);
  });

  test("every reader has a seed, and each seed gives its signals with all rows, with nothing to report", async () => {
    expect([...new Set(seeds.map(({ format }) => format))].sort()).toEqual(Object.keys(logFormats).sort());
    for (const [size, all] of [
      [24, seeds],
      [2, smallest],
    ] as const)
      for (const seed of all) {
        const path = join(folder, "seed.log");
        writeFileSync(path, seed.bytes);
        const { rows, said } = await readingOf(path, seed);
        expect([seed.name, rows.length]).toEqual([seed.name, size * seed.requests.length]);
        // nothing recovered, nothing missing
        expect(said).toMatch(/^\[null,\[\],/);
        if (seed.rowsAPlace === undefined && !/MCAP|table/.test(seed.name))
          expect(seed.values.length, seed.name).toBeGreaterThanOrEqual(3 * size);
      }
  });

  test(`${few} of each reader, and extreme numbers at some places, break no promise`, {
    timeout: 900_000,
  }, async () => {
    for (const seed of seeds) {
      const { faults, counts } = await runMutants(child, seed, { to: shareOf(seeds, seed, few) }, folder);
      expect(faults).toEqual([]);
      // damage that hits nothing would show nothing
      expect(counts.refused + counts.reported).toBeGreaterThan(counts.same / 2);
    }
    for (const seed of smallest) expect((await runMutants(child, seed, { every: stride }, folder)).faults).toEqual([]);
  });
});

describeWith(["scipy", "slow"], "damaged logs in numbers", () => {
  test(`${many} of each reader, and extreme numbers at every place, break no promise; the manual's page is written`, {
    timeout: 7_200_000,
  }, async () => {
    const child = await buildChild(folder);
    const [seeds, smallest] = [await seedLogs(), await seedLogs(2)];
    const outcomes: SeedOutcome[] = [];
    for (const [k, seed] of seeds.entries())
      outcomes.push({
        name: seed.name,
        random: await runMutants(child, seed, { to: shareOf(seeds, seed, many) }, folder),
        everywhere: await runMutants(child, smallest[k]!, { every: 1 }, folder),
      });
    writeFileSync(page, damagePage(outcomes, new Date().toISOString().slice(0, 10)));
    expect(outcomes.flatMap(({ random, everywhere }) => [...random.faults, ...everywhere.faults])).toEqual([]);
  });
});
