import { expect, test } from "vitest";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import type { PlannedRun } from "../../src/simulation/manifestFor.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

// The simulation's capture noise is 0.2 mm; with 1 mm as the smallest difference what adds 0.1 mm to an rms counts. The vehicle's rms is
// some 2 to 4 mm: 2 mm of noise add sqrt(2^2 + 2^2) - 2 = 0.8 mm, 0.3 mm add 0.02 mm.

const captured = (noise: number): FlightChanges => ({ capture: { positionNoise: [noise, noise, noise] } });

const bare = [0, 2, 4].map((i) => shortFlight(700 + i));

/** Three runs of either configuration; the candidate's are captured otherwise. */
async function runsWith(changes: FlightChanges) {
  const flights: Record<string, SimulatedFlight> = {};
  const runs = Array.from({ length: 6 }, (_, i): PlannedRun => {
    const configuration = i % 2 === 0 ? "bare" : "weighted";
    flights[`${i}.bag`] = configuration === "bare" ? bare[i / 2]! : shortFlight(700 + i, changes);
    return { log: `${i}.bag`, id: `${i}`, configuration, trajectory: "orbit" };
  });
  const evaluation = await evaluateFlights(flights, shortManifest(runs));
  return evaluation.runs.map((run) => checksOf(run, "noise-apart"));
}

test("runs with ten times the noise of the others are doubted, by the axes on which it counts; those others are not", async () => {
  const found = await runsWith(captured(0.002));
  for (const [i, checks] of found.entries()) {
    if (i % 2 === 0) expect(checks.filter(({ message }) => message.includes("shakes"))).toEqual([]);
    else
      expect(checks[0]).toMatchObject({ severity: "doubt", message: expect.stringContaining("vehicle: what shakes") });
  }
  // its own noise, found within a tenth: third differences of some 600 samples
  const { fast_sd_m } = found[1]![0]!.evidence as { fast_sd_m: number };
  expect(fast_sd_m / 0.002).toBeGreaterThan(0.9);
  expect(fast_sd_m / 0.002).toBeLessThan(1.1);
});

test("one and a half times the noise is another matter: it adds nothing that counts", async () => {
  expect((await runsWith(captured(0.0003))).flat()).toEqual([]);
});

test("a capture with a quarter of the noise was filtered; one with half of it need not be", async () => {
  const found = await runsWith(captured(0.00005));
  expect(found[1]![0]!.message).toMatch(/filtered or filled in/);
  expect(found[0]).toEqual([]);
  expect((await runsWith({ capture: { positionNoise: [0.0001, 0.0001, 0.0001] } })).flat()).toEqual([]);
});
