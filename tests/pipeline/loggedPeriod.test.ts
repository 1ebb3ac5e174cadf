import { expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

const even = shortFlight(1);
const ramped = shortFlight(2, {
  trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 6, rampIn: 1 },
});

/** The two flights with their circle filed as known from the log alone, its period declared `off` beside the simulated one. */
async function declaredOff(off: number): Promise<readonly RunEvaluation[]> {
  const logs = { "even.bag": even, "ramped.bag": ramped };
  const period = even.truth.period * (1 + off);
  const text = shortManifest(Object.keys(logs)).replace(
    /orbit: \{[^}]*\}/,
    `orbit: { shape: logged, period: ${period.toFixed(6)} s }`,
  );
  expect(text).toContain("shape: logged");
  return (await evaluateFlights(logs, text)).runs;
}

test("a logged trajectory's period declared 3 or 4 % wrong is named, whatever the flight; declared right it is folded", async () => {
  for (const off of [-0.04, -0.03, 0.03, 0.04]) {
    for (const run of await declaredOff(off)) {
      const [check] = checksOf(run, "wrong-trajectory");
      expect(check?.severity).toBe("unusable");
      // to a tenth of the least that was made wrong
      expect(Math.abs((check!.evidence.found_period_s as number) / even.truth.period - 1)).toBeLessThan(0.003);
      expect(run.used).toBe(false);
    }
  }
  for (const off of [-0.01, 0, 0.01]) {
    for (const run of await declaredOff(off)) {
      expect(checksOf(run, "wrong-trajectory")).toEqual([]);
      expect(run.windows.cycles.length).toBeGreaterThanOrEqual(5);
      const [from, to] = run.windows.cycles[0]!;
      expect(Math.abs((to - from) / even.truth.period - 1)).toBeLessThan(0.003);
    }
  }
});
