import { deserialize, serialize } from "node:v8";
import { expect, test } from "vitest";
import type { Campaign } from "../../src/contract/campaign.ts";
import { defaultSettings, type Settings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { keptRuns } from "../../src/pipeline/kept/keptRuns.ts";
import type { Records } from "../../src/pipeline/kept/records.ts";
import { loadCampaign } from "../../src/pipeline/loadCampaign.ts";
import { measureCampaign } from "../../src/pipeline/measureCampaign.ts";
import { inTurn, type MeasureRuns } from "../../src/pipeline/runPool.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

/** One change in ten by default, drawn by a seed; COUNTERPOISE_SLOW=1 makes all of them. */
const share = process.env.COUNTERPOISE_SLOW === "1" ? 1 : 0.1;

const shape = {
  timeline: { hold: 4, pause: 1, rest: 1, takeOff: false },
  trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.35, cycles: 3, rampIn: 0 },
} as const;
const logs = { "a.bag": shortFlight(1, shape), "b.bag": shortFlight(2, shape) };
const effects = {
  ...memoryEffects(
    shortManifest(
      [
        { log: "a.bag", id: "a", configuration: "bare", trajectory: "orbit" },
        { log: "b.bag", id: "b", configuration: "weighted", trajectory: "orbit" },
      ],
      { flight: shortSettings(shape) },
    ),
    logs,
  ),
  stamp: async () => "1 1 1 1",
};

/** Records that lie in memory, as bytes: what is read is not what was written. */
function recordsInMemory(): Records {
  const kept = new Map<string, Buffer>();
  return {
    folder: "",
    names: async () => new Set(kept.keys()),
    read: async (name) => (kept.has(name) ? deserialize(kept.get(name)!) : null),
    write: async (name, value) => kept.set(name, serialize(value)) !== undefined,
    trim: async () => undefined,
  };
}

type Change = { readonly place: string; readonly campaign: Campaign; readonly settings: Settings };

/** Values that stand in for another: of its kind, and where nothing is declared one of each kind. */
function othersThan(value: unknown): unknown[] {
  if (typeof value === "number") return [value === 0 ? 0.037 : 1.07 * value];
  if (typeof value === "boolean") return [!value];
  if (typeof value === "string") return [`${value}_other`];
  if (typeof value === "bigint") return [value + 1_000_000_000n];
  return [0.037, "heading", { x: 0.01 }, [1, 15]];
}

/** The whole with one leaf another, for each leaf and each way in which it can be another. */
function* changed<T>(whole: T, path: string): Generator<{ place: string; value: T }> {
  if (whole === null || typeof whole !== "object") {
    for (const value of othersThan(whole)) yield { place: path, value: value as T };
    return;
  }
  for (const [key, own] of Object.entries(whole)) {
    for (const { place, value } of changed(own, `${path}.${key}`)) {
      const copy = (Array.isArray(whole) ? [...whole] : { ...whole }) as Record<string, unknown>;
      copy[key] = value;
      yield { place, value: copy as T };
    }
  }
}

/** Keys that a short manifest leaves out, as somebody may declare them. */
function* added(campaign: Campaign): Generator<{ place: string; value: Campaign }> {
  const tethered = { tether: "tension", contact: null } as const;
  const [one, ...rest] = campaign.runs;
  const more: Record<string, Partial<Campaign>> = {
    flight: { flight: tethered },
    "runs.flight": { runs: [{ ...one!, flight: { tether: "none", contact: [0, 90] } }, ...rest] },
    parts: { parts: [{ name: "arm", mass: 0.2, at: [0.1, 0, 0], travel: [0, 1, 0], function: null }] },
    vehicle: { vehicle: { mass: 2.9, com: [0, 0, 0.02], maxThrust: null, rotors: 6, rotorDiameter: null } },
    definitions: { definitions: ["no-such-folder"] },
    tolerance: { tolerance: 0.01 },
    judgeIn: { judgeIn: "heading" },
    block: { runs: [{ ...one!, block: "day" }, ...rest] },
    span: { runs: [{ ...one!, span: [2, 17] }, ...rest] },
    takeoffMass: { runs: [{ ...one!, takeoffMass: 3.1 }, ...rest] },
    shape: { trajectories: { orbit: { shape: "logged", period: null } } },
  };
  for (const [place, part] of Object.entries(more)) yield { place, value: { ...campaign, ...part } };
}

async function outcome({ campaign, settings }: Omit<Change, "place">, measureRuns: MeasureRuns): Promise<string> {
  try {
    const loaded = { campaign, texts: [] };
    const { runs, measured, noise, common, judged, parameters } = await measureCampaign("campaign.yaml", {
      effects,
      settings,
      loaded,
      measureRuns,
    });
    const text = (_: string, value: unknown): unknown => {
      if (typeof value === "bigint") return `${value}n`;
      if (typeof value === "number" && !Number.isFinite(value)) return String(value);
      return value instanceof Set || value instanceof Map ? [...value] : value;
    };
    const measurements = measured.map(({ declaration: _, ...measurement }) => measurement);
    return JSON.stringify([runs, measurements, noise, common, judged, [...parameters]], text);
  } catch (error) {
    return String(error);
  }
}

test("whatever is changed of manifest or settings, a kept measurement is the fresh one, byte for byte", async () => {
  const { campaign } = await loadCampaign("campaign.yaml", effects);
  const base = { campaign, settings: defaultSettings };
  const changes: Change[] = [
    ...[...added(campaign), ...changed(campaign, "campaign")].map(({ place, value }) => ({
      ...base,
      place,
      campaign: value,
    })),
    ...[...changed<Settings>(defaultSettings, "settings")].map(({ place, value }) => ({
      ...base,
      place,
      settings: value,
    })),
  ];
  expect(changes.length).toBeGreaterThan(250);
  let measured = 0;
  const counting: MeasureRuns = (jobs, ...rest) => {
    measured += jobs.length;
    return inTurn(jobs, ...rest);
  };
  const kept = keptRuns(counting, recordsInMemory(), "build");
  const first = await outcome(base, kept);
  expect(measured).toBe(2);
  const random = seededRandom(20261201);
  let differing = 0;
  for (const change of changes) {
    if (random.uniform() >= share) continue;
    const fresh = await outcome(change, inTurn);
    expect(await outcome(change, kept), change.place).toBe(fresh);
    if (fresh !== first) differing++;
  }
  // a good part of the changes shows in a measurement, or nothing was tried
  expect(differing).toBeGreaterThan(0.2 * share * changes.length);
  measured = 0;
  expect(await outcome(base, kept)).toBe(first);
  expect(measured).toBe(0);
}, 600_000);
