import { readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";
import { expect, test } from "vitest";
import { checkCodes } from "../../../src/foundation/checks.ts";
import { describeWith } from "../../support/available.ts";
import { countFalseAlarms, countFound, type Found } from "./countFound.ts";
import { detectionPage } from "./detectionPage.ts";
import { notCounted, sizedFaults } from "./sizedFaults.ts";

const page = resolve(import.meta.dirname, "../../../client/manual/detection.md");

test("every check is counted, or it is said why not, and the manual's page holds all of it", () => {
  const rows = readFileSync(page, "utf8").split("\n");
  for (const code of checkCodes) {
    const faults = sizedFaults.filter(({ check }) => check === code);
    expect(faults.length > 0, code).not.toBe(code in notCounted);
    for (const { fault, sizes } of faults)
      for (const { size } of sizes)
        expect(
          rows.filter((row) => row.startsWith(`| \`${code}\` | ${fault} | ${size} | `)),
          `${code}, ${size}`,
        ).toHaveLength(1);
    if (code in notCounted)
      expect(
        rows.filter((row) => row.startsWith(`| \`${code}\` | ${notCounted[code]} | `)),
        code,
      ).toHaveLength(1);
  }
});

describeWith(["slow"], "faults in sizes, counted", () => {
  test("the largest size of each is found in nine of ten runs; the manual's page is written", {
    timeout: 7_200_000,
  }, async () => {
    const counts: Found[][] = [];
    const missed: string[] = [];
    for (const fault of sizedFaults) {
      const found: Found[] = [];
      for (const { steps } of fault.sizes) found.push(await countFound(fault, steps, 5));
      counts.push(found);
      // under whichever name: a gyro of another flight makes a clock ambiguous as often as its axes disagree
      const { runs, byAny } = found.at(-1)!;
      if (byAny < 0.9 * runs) missed.push(`${fault.check}, ${fault.fault}: ${byAny} of ${runs}`);
    }
    const alarms = await countFalseAlarms(200);
    writeFileSync(page, detectionPage(counts, alarms, new Date().toISOString().slice(0, 10)));
    expect(missed).toEqual([]);
  });
});
