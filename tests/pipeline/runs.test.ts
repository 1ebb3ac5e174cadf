import { describe, expect, test } from "vitest";
import type { CampaignEvaluation, RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import type { Progress } from "../../src/pipeline/measureCampaign.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

const runs = (evaluation: CampaignEvaluation): Record<string, RunEvaluation> =>
  Object.fromEntries(evaluation.runs.map((run) => [run.id, run]));
const plan = (log: string, more: object = {}) => ({
  log: `${log}.bag`,
  id: log,
  configuration: "bare",
  trajectory: "orbit",
  ...more,
});

describe("which runs are used", () => {
  const flights = {
    "a.bag": shortFlight(1),
    "b.bag": shortFlight(2),
    "c.bag": shortFlight(3),
    "d.bag": shortFlight(4),
  };
  const manifest = shortManifest([
    plan("a"),
    plan("b", { exclude: "arm jammed in cycle 4" }),
    plan("c", { outcome: "aborted" }),
    plan("d", { configuration: "weighted", block: "day2", battery: "pack-B", takeoffMass: 5.14, notes: "gusty" }),
  ]);

  test("all but what a person excluded and what was aborted; both are listed with their reason and measured all the same", async () => {
    const evaluation = await evaluateFlights(flights, manifest);
    const { a, b, c, d } = runs(evaluation);
    expect([a!.used, b!.used, c!.used, d!.used]).toEqual([true, false, false, true]);
    expect([a!.excluded_because, b!.excluded_because, c!.excluded_because]).toEqual([
      null,
      "arm jammed in cycle 4",
      "aborted",
    ]);
    expect(c!.outcome).toBe("aborted");
    for (const run of [a, b, c, d]) expect(run!.tracking.cycles!.vehicle!.x.rms).toBeGreaterThan(0);
    expect(d).toMatchObject({
      configuration: "weighted",
      block: "day2",
      battery: "pack-B",
      takeoff_mass: 5.14,
      notes: "gusty",
    });
    expect(JSON.parse(evaluationJson(evaluation))).toEqual(evaluation);
  });

  test("exclusions.yaml is stronger than the manifest, puts back as well, and is among the inputs", async () => {
    const exclusions = `exclusions:
  - { run: a, reason: "marker loose" }
  - { run: b, include: true, reason: "the arm jammed after the last cycle" }
`;
    const memory = memoryEffects(manifest, flights);
    const evaluation = await evaluateCampaign("campaign.yaml", {
      effects: {
        ...memory,
        size: async (path) => (path === "exclusions.yaml" ? exclusions.length : memory.size(path)),
        readText: async (path) => (path === "exclusions.yaml" ? exclusions : memory.readText(path)),
      },
    });
    const { a, b } = runs(evaluation);
    expect([a!.used, a!.excluded_because]).toEqual([false, "marker loose"]);
    expect([b!.used, b!.excluded_because]).toEqual([true, null]);
    expect(evaluation.inputs.map(({ path }) => path)).toEqual([
      ...["campaign.yaml", "exclusions.yaml", "a.bag", "b.bag", "c.bag", "d.bag"],
    ]);
  });

  test("progress is reported run by run", async () => {
    const events: Progress[] = [];
    await evaluateCampaign("campaign.yaml", {
      effects: memoryEffects(manifest, flights),
      onProgress: (event) => events.push(event),
    });
    expect(events.map(({ stage, run, done }) => `${stage} ${run} ${done}`)).toEqual([
      ...["captures  0", "measuring a 0", "measuring b 1", "measuring c 2", "measuring d 3", "hashing  4", "done  4"],
    ]);
    expect(events.every(({ total }) => total === 4)).toBe(true);
  });
});

/** The recording with every signal's rows picked, and its columns changed. */
function changed(recording: Recording, keep: (seconds: number) => boolean, shift = 0n): Recording {
  const pick = (signal: RecordedSignal): RecordedSignal => {
    const rows = [...signal.received.seconds.keys()].filter((i) => keep(signal.received.seconds[i]!));
    const take = (column: Float64Array): Float64Array => Float64Array.from(rows, (i) => column[i]!);
    return {
      ...signal,
      received: { epoch: signal.received.epoch + shift, seconds: take(signal.received.seconds) },
      stamped: { epoch: signal.stamped!.epoch + shift, seconds: take(signal.stamped!.seconds) },
      columns: Object.fromEntries(Object.entries(signal.columns).map(([name, column]) => [name, take(column)])),
    };
  };
  return { ...recording, signals: new Map([...recording.signals].map(([name, signal]) => [name, pick(signal)])) };
}

describe("the same flight filed twice", () => {
  const flight = toRecording(shortFlight(1));
  const copies: Record<string, Recording> = {
    "a.bag": flight,
    "other.bag": toRecording(shortFlight(2)),
    "same.bag": flight,
    // from 2 s on, without the rest after the cycles
    "trimmed.bag": changed(flight, (seconds) => seconds > 2 && seconds < 19),
    // stamps of the next day
    "restamped.bag": changed(flight, () => true, 86_400_000_000_000n),
  };

  test("is no replicate: whole, trimmed or restamped, only the first counts; another flight is none", async () => {
    const evaluation = await evaluateFlights(copies);
    const { a, other, same, trimmed, restamped } = runs(evaluation);
    for (const copy of [same, trimmed, restamped]) {
      const [check] = checksOf(copy!, "copied");
      expect(check).toMatchObject({ severity: "unusable", evidence: { same_as: "a" } });
      expect(check!.evidence.share).toBeGreaterThan(0.99);
      expect(copy!.used).toBe(false);
    }
    for (const flown of [a, other]) {
      expect(checksOf(flown!, "copied")).toEqual([]);
      expect(flown!.used).toBe(true);
    }
  });

  test("two logs lines of one file are the same flight as well", async () => {
    const { runs: found } = await evaluateFlights(copies, shortManifest([plan("a"), { ...plan("a"), id: "again" }]));
    expect(found.map(({ used }) => used)).toEqual([true, false]);
    expect(checksOf(found[1]!, "copied")).toHaveLength(1);
  });
});

describe("maximum and range over the smallest number of cycles", () => {
  test("of the trajectory's used runs; rms and the split stay those of all cycles", async () => {
    const full = shortFlight(1);
    const brief = shortFlight(2, { faults: [{ kind: "truncated", cycle: 4.3 }] });
    const evaluation = await evaluateFlights({ "a.bag": full, "b.bag": brief });
    expect(evaluation.settings.common_cycles).toEqual({ orbit: 4 });
    const { a, b } = runs(evaluation);
    expect([a!.windows.cycles.length, b!.windows.cycles.length]).toEqual([6, 4]);
    const alone = (await evaluateFlights({ "a.bag": full })).runs[0]!;
    for (const subject of ["vehicle", "effector", "arm"] as const) {
      for (const axis of axes) {
        const [shared, own] = [a!.tracking.cycles![subject]![axis], alone.tracking.cycles![subject]![axis]];
        expect({ ...shared, max_abs: 0, range: 0 }).toEqual({ ...own, max_abs: 0, range: 0 });
        expect(shared.range!).toBeLessThanOrEqual(own.range!);
      }
    }
    // and they are those of the errors in the first four cycles: the same flight, cut after four
    const cut = (await evaluateFlights({ "a.bag": shortFlight(1, { faults: [{ kind: "truncated", cycle: 4.3 }] }) }))
      .runs[0]!;
    for (const axis of axes) {
      // the clock is found again from the shorter log: it moves the vehicle's error by less than 1e-7 m, its instants by < 1 ms
      expect(cut.tracking.cycles!.vehicle![axis].range!).toBeCloseTo(a!.tracking.cycles!.vehicle![axis].range!, 4);
    }
  });

  test("an unusable, aborted or excluded run does not shorten the others", async () => {
    const flights = {
      "a.bag": shortFlight(1),
      "b.bag": shortFlight(2, { faults: [{ kind: "truncated", cycle: 4.3 }] }),
      "c.bag": shortFlight(3, { faults: [{ kind: "truncated", cycle: 3.3 }] }),
    };
    const manifest = shortManifest([plan("a"), plan("b", { exclude: "cut short" }), plan("c", { outcome: "aborted" })]);
    const evaluation = await evaluateFlights(flights, manifest);
    expect(evaluation.settings.common_cycles).toEqual({ orbit: 6 });
    const alone = await evaluateFlights({ "a.bag": flights["a.bag"] });
    expect(evaluation.runs[0]!.tracking).toEqual(alone.runs[0]!.tracking);
  });
});
