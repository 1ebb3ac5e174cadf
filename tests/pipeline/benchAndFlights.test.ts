import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import { type CampaignEvaluation, evaluationSchema } from "../../src/contract/evaluation.ts";
import { benchAndFlights, sealForecast } from "../../src/pipeline/bench/benchAndFlights.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { loadCampaign } from "../../src/pipeline/loadCampaign.ts";
import { readLooks, readRecord } from "../../src/pipeline/recordLook.ts";
import { toFlightSentence, toFlightSentences } from "../../src/report/toFlightSentences.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import type { PlannedRun } from "../../src/simulation/manifestFor.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { evaluatedBench, stand } from "../support/simulatedBench.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const folder = await mkdtemp(join(tmpdir(), "counterpoise-together-"));
afterAll(() => rm(folder, { recursive: true, force: true }));

/** 700 g travel 0.8 of the tool, 20 cm below the body point; the weights take away 85 % along x and half along y */
const taken = [0.85, 0.5, 0] as const;
const trajectory = { shape: "circle", plane: "xy", radius: 0.06, speed: 0.25, cycles: 8, rampIn: 0 } as const;
const shared: FlightChanges = { trajectory, between: { gain: 0.05, air: 0.1, arm: 0, bias: 0, slope: 0 } };

interface Together {
  readonly campaign: Campaign;
  readonly bench: BenchEvaluation;
  readonly evaluation: CampaignEvaluation;
}

/** A campaign of eight flights and the bench of the same arm; weights at the arm's height, or level with the body point. */
async function together(height: number, scale = 1): Promise<Together> {
  const counterweights = [0.02, -0.02].map((z) => ({ mass: 0.27, at: [-0.14, 0, height + z] as const }));
  const weighted: FlightChanges = { balance: taken, counterweights };
  const runs: PlannedRun[] = [];
  const logs: Record<string, SimulatedFlight> = {};
  for (const [i, configuration] of [
    "bare",
    "weighted",
    "weighted",
    "bare",
    "bare",
    "weighted",
    "weighted",
    "bare",
  ].entries()) {
    const id = `flight-${i}`;
    runs.push({ log: `${id}.bag`, id, configuration, trajectory: "orbit" });
    logs[`${id}.bag`] = shortFlight(500 + i, { ...shared, ...(configuration === "weighted" ? weighted : {}) });
  }
  let text = shortManifest(runs, {
    configurations: {
      bare: { label: "Arm alone" },
      weighted: { label: "Counterweights fitted", counterweights },
    },
    flight: shortSettings(shared),
    trajectories: { orbit: trajectory },
  });
  const per = taken.map((share) => (-share * 0.56) / 0.54);
  text = text.replaceAll(/(at: \[-140 mm[^\]]*\])/g, `$1, travel: [${per.join(", ")}]`);
  const { campaign } = await loadCampaign("campaign.yaml", memoryEffects(text, logs));
  // the arm base stands 60 mm before and 120 mm below the body point
  const arm = { mass: 0.7 * scale, at: [0.04, 0, -0.08] as const, travel: [0.8, 0.8, 0.8] as const };
  const weights = counterweights.map(({ mass, at }) => ({
    mass: mass * scale,
    at: [at[0] - 0.06, 0, at[2] + 0.12] as const,
    travel: per as unknown as readonly [number, number, number],
  }));
  const bench = evaluatedBench({
    trajectories: { orbit: { shape: "circle", plane: "xy", radius: 0.06 } },
    periods: [1.2, 1.5, 2.2],
    creep: false,
    refits: 4,
    base: { ...stand, cycles: 8, sensor: { ...stand.sensor, rate: 100 }, masses: [arm] },
    candidate: [arm, ...weights],
    bare: [arm],
    knownMass: [],
    tap: false,
  });
  return { campaign, bench, evaluation: await evaluateFlights(logs, text) };
}

const at = (all: Together, forecasts: Parameters<typeof benchAndFlights>[3] = []) =>
  benchAndFlights(all.campaign, all.bench, all.evaluation, forecasts, "campaign.yaml");

describe("a bench and eight flights of one arm, weights at the arm's height", () => {
  let all: Together;
  beforeAll(async () => {
    all = await together(-0.2);
  }, 120_000);

  test("both show the same moving mass, by force, by gravity's moment and in flight", () => {
    const { shared: numbers } = at(all);
    expect(numbers.map(({ axis, configuration }) => `${axis} ${configuration}`)).toEqual([
      "x bare",
      "x weighted",
      "y bare",
      "y weighted",
    ]);
    for (const { axis, configuration, bench, flight } of numbers) {
      const truth = 0.56 * (configuration === "bare" ? 1 : 1 - taken[axis === "x" ? 0 : 1]);
      expect(bench.map(({ from }) => from)).toEqual(["force", "gravity moment"]);
      for (const { value } of bench) expect(Math.abs(value - truth)).toBeLessThan(0.02);
      expect(Math.abs(flight.value - truth)).toBeLessThan(0.03);
    }
  });

  test("the ratio law applies, and what was flown lies within its prediction", () => {
    const { forecast, held, assumed } = at(all);
    expect(forecast.map(({ axis, method }) => `${axis} ${method}`)).toEqual(["x ratio law", "y ratio law"]);
    for (const { axis, force_reduction, moment_reduction, transfers_refused, cell } of forecast) {
      expect(Math.abs(force_reduction! - taken[axis === "x" ? 0 : 1])).toBeLessThan(0.03);
      expect(Math.abs(moment_reduction! - force_reduction!)).toBeLessThan(0.1);
      expect(transfers_refused).toContain("found 1");
      expect(cell!.metric).toBe("rms");
      expect(cell!.difference).toBeLessThan(0);
    }
    expect(held.map(({ axis, within }) => `${axis} ${within}`)).toEqual(["x true", "y true"]);
    expect(assumed[0]).toContain("moment of inertia: not declared");
  });

  test("what it says in words, and that the evaluation takes it", () => {
    const evaluation = { ...all.evaluation, bench: all.bench, bench_to_flight: at(all) };
    expect(evaluationSchema.safeParse(evaluation).error).toBeUndefined();
    const words = toFlightSentences(evaluation).flatMap(({ text, items }) => [text, ...items]);
    expect(words.join("\n")).toContain("No forecast was sealed before these flights");
    expect(toFlightSentence(evaluation)).toMatch(
      /the same moving mass in \d of 4 places\. Forecast held in 2 of 2 places\.$/,
    );
    expect(toFlightSentences(all.evaluation)).toEqual([]);
  });

  test("a forecast is sealed while no candidate run is filed, once, and held against the flights later", async () => {
    const before = { ...all.campaign, runs: all.campaign.runs.filter(({ configuration }) => configuration === "bare") };
    const path = join(folder, "campaign.yaml");
    const seal = (campaign: Campaign, changes = {}) =>
      sealForecast(campaign, { ...at(all), ...changes }, path, diskEffects);
    await seal(all.campaign);
    expect((await readRecord(path, diskEffects)).text).toBe("");
    await seal(before);
    await seal(before);
    const { forecasts, text } = await readRecord(path, diskEffects);
    expect(forecasts).toHaveLength(1);
    expect(await readLooks(path, diskEffects)).toEqual([]);
    const { sealed, held } = at(all, forecasts);
    expect(sealed!.sha256).toBe(forecasts[0]!.sha256);
    expect(held.map(({ expected }) => expected)).toEqual(forecasts[0]!.forecast.map(({ expected }) => expected));
    // a forecast that was changed afterwards is refused
    const place = join(folder, "looks.jsonl");
    await writeFile(place, text.replace(/"expected":0\.\d/, '"expected":0.9'));
    await expect(readRecord(path, diskEffects)).rejects.toThrow(/another SHA-256 than it was sealed with/);
    expect(await readFile(place, "utf8")).toContain('"expected":0.9');
  });
});

describe("what does not agree is said", () => {
  test("weights at another height than the arm: no ratio law along x, and why", async () => {
    const all = await together(0);
    const [x] = at(all).forecast;
    expect(x).toMatchObject({ method: null, expected: null, prediction: null });
    expect(x!.ratio_law_refused).toMatch(/force and moment are reduced differently \(8\d % and 1?\d\d %\)/);
    expect(at(all).held.filter(({ axis }) => axis === "x")).toEqual([]);
  }, 120_000);

  test("a bench that weighs 30 % too much stands apart from the flights", async () => {
    const all = await together(-0.2, 1.3);
    const bare = at(all).shared.find(({ axis, configuration }) => axis === "x" && configuration === "bare")!;
    expect(bare.bench.every(({ agrees }) => agrees === false)).toBe(true);
    expect(bare.finding).toMatch(/^the flights stand apart from the bench/);
  }, 120_000);
});
