import { describe, expect, test } from "vitest";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { Check } from "../../src/foundation/checks.ts";
import { delaysApart } from "../../src/pipeline/delaysApart.ts";
import type { MeasuredRun } from "../../src/pipeline/measureOne.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import { campaign, source } from "../alignment/signals.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

type Flown = readonly [configuration: string, block: string, delay: number];

/** Runs of which nothing is known but how late the arm followed, seconds. */
function found(
  flown: readonly Flown[],
  witness: MeasuredRun["witness"] = null,
  receipts: MeasuredRun["stampMinusReceipt"] = {},
  // what the delay adds along z to 4 mm, metres a second
  adds = 0.1,
): Map<string, Check[]> {
  const rmsOf = (delay: number) => ({ z: { rms: 0.004 + adds * delay, rms_delay_removed: 0.004 } });
  const runs = flown.map(
    ([configuration, block, delay], i) =>
      ({
        declaration: { id: `run-${i + 1}`, configuration, block, trajectory: "orbit" },
        checks: [],
        witness,
        stampMinusReceipt: receipts,
        measures: {
          tracking: { cycles: { arm: { delay, ...rmsOf(delay) }, effector: { delay, ...rmsOf(delay) } }, hold: null },
        },
      }) as unknown as MeasuredRun,
  );
  const declared = campaign({
    signals: { vehicle_pose: source(), vehicle_setpoint: source(), vehicle_rate: source(), effector_command: source() },
  });
  return delaysApart({ ...declared, trajectories: { orbit: { shape: "hold", duration: 1 } } }, runs, defaultSettings);
}

const evidence = (checks: Map<string, Check[]>, run: string) => (checks.get(run) ?? []).map((check) => check.evidence);

describe("response delays", () => {
  const three = (configuration: string, block: string, delay: number): Flown[] =>
    [-1, 0, 1].map((step) => [configuration, block, delay + 5e-4 * step] as const);

  test("that differ between configurations by more than like runs scatter are a doubt in all their runs", () => {
    const checks = found([...three("bare", "day1", 0.087), ...three("weighted", "day1", 0.107)]);
    expect(checks.size).toBe(6);
    for (const [, [check, more]] of checks) {
      expect(more).toBeUndefined();
      expect(check).toMatchObject({ code: "delay-apart", severity: "doubt" });
      // means as set; sd of -h, 0, h is h
      expect(check!.evidence).toMatchObject({ by: "configuration", first: "bare", second: "weighted" });
      expect(check!.evidence.first_delay_s).toBeCloseTo(0.087, 12);
      expect(check!.evidence.second_delay_s).toBeCloseTo(0.107, 12);
      expect(check!.evidence.scatter_s).toBeCloseTo(5e-4, 12);
    }
  });

  const agrees = {
    pair: ["vehicle_pose", "vehicle_rate"],
    kind: "gyro",
    apart: 0,
    standardError: 1e-4,
    steps: [],
    isOwn: false,
  } as const;
  const late = [...three("bare", "day1", 0.087), ...three("weighted", "day1", 0.107)];

  test("of the arm under 10 ms are a doubt only where they make a difference that matters, and no receipt shows the stamps", () => {
    const sampleLate = [...three("bare", "day1", 0.0364), ...three("weighted", "day1", 0.0304)];
    // 6 ms at 0.25 mm a millisecond are 1.5 mm, at 0.1 mm they are 0.6 mm, under the smallest difference
    for (const [, [check]] of found(sampleLate, agrees, {}, 0.25))
      expect(check).toMatchObject({ severity: "doubt", touches: { axes: ["z"] } });
    expect(found(sampleLate, agrees, {}, 0.25).size).toBe(6);
    expect(found(sampleLate, agrees).size).toBe(0);
    expect(found(sampleLate, agrees, { effector_command: -0.002, vehicle_setpoint: -0.002 }, 0.25).size).toBe(0);
  });

  test("are a note where a sight of the motion agrees with the clocks, and receipt shows how the command was stamped", () => {
    const checks = found(late, agrees, { effector_command: -0.002, vehicle_setpoint: -0.002 });
    expect(checks.size).toBe(6);
    for (const [, list] of checks)
      expect(list).toMatchObject([{ severity: "note", evidence: { clocks_confirmed: true } }]);
  });

  test("are a doubt where no receipt shows it, of what the delay makes differ by more than matters", () => {
    // 20 ms at 0.1 mm a millisecond are 2 mm, twice the smallest difference
    for (const [, [check]] of found(late, agrees)) {
      expect(check).toMatchObject({ severity: "doubt", touches: { subjects: ["effector", "arm"], axes: ["z"] } });
      expect(check!.message).toContain("it makes 2.0 mm along z (effector) of the difference");
    }
  });

  test("that differ by less, or scatter as much, are none", () => {
    expect(found([...three("bare", "day1", 0.087), ...three("weighted", "day1", 0.096)]).size).toBe(0);
    const wide = (configuration: string, delay: number): Flown[] =>
      [-0.012, 0, 0.012].map((step) => [configuration, "day1", delay + step] as const);
    // t = 20 / (12 sqrt(2/3)) = 2.04 with 4 degrees of freedom: p 0.11
    expect(found([...wide("bare", 0.087), ...wide("weighted", 0.107)]).size).toBe(0);
  });

  test("that differ between days are laid to the days, not to the configurations flown on both", () => {
    const checks = found([
      ...three("bare", "day1", 0.087),
      ...three("weighted", "day1", 0.087).slice(1),
      ...three("bare", "day2", 0.107).slice(1),
      ...three("weighted", "day2", 0.107),
    ]);
    expect(evidence(checks, "run-1")).toMatchObject([{ by: "block", first: "day1", second: "day2" }]);
    expect(checks.size).toBe(10);
  });

  test("of one run among five that strays is a doubt of that run alone", () => {
    const checks = found([...three("bare", "day1", 0.087), ["bare", "day1", 0.0871], ["bare", "day1", 0.12]]);
    expect([...checks.keys()]).toEqual(["run-5"]);
    expect(evidence(checks, "run-5")).toMatchObject([{ by: "run", first_delay_s: 0.12 }]);
  });
});

describe("flights whose arm answers late, or whose capture is off, in the candidate's runs", () => {
  const fly = async (weighted: FlightChanges, captureClock: "gyro" | "none") => {
    const still = captureClock === "none" ? { clock: { offset: 0, skew: 0, boot: 0n } } : {};
    const names = ["a", "b", "c", "d", "e", "f"];
    const runs = names.map((id, i) => ({
      log: `${id}.bag`,
      id,
      configuration: i % 2 === 0 ? "bare" : "weighted",
      trajectory: "orbit",
    }));
    const flights = names.map(
      (id, i) => [`${id}.bag`, shortFlight(41 + i, i % 2 === 0 ? still : { ...still, ...weighted })] as const,
    );
    const signals = ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command"] as const;
    const manifest = shortManifest(runs, {
      flight: shortSettings(still),
      captureClock,
      signals: captureClock === "gyro" ? [...signals, "vehicle_rate"] : signals,
    });
    return (await evaluateFlights(Object.fromEntries(flights), manifest)).runs.map((run) =>
      checksOf(run, "delay-apart"),
    );
  };

  test("20 ms of clock, with nothing to confirm it, are a doubt; no difference is none", async () => {
    const checks = await fly({ clock: { offset: 0.02, skew: 0, boot: 0n } }, "none");
    for (const [check] of checks) {
      expect(check).toMatchObject({ severity: "doubt" });
      const { first_delay_s: first, second_delay_s: second } = check!.evidence as Record<string, number>;
      // the offset that the capture was given; like runs scatter by 0.2 ms
      expect(Math.abs(second! - first! - 0.02)).toBeLessThan(1e-3);
      expect(check!.touches).toMatchObject({ subjects: ["effector", "arm"] });
    }
    expect((await fly({}, "none")).flat()).toEqual([]);
  });

  test("20 ms more of transport delay, with clocks found by the gyro, are a note", async () => {
    const { arm } = shortSettings();
    const checks = await fly({ arm: { ...arm, transportDelay: arm.transportDelay + 0.02 } }, "gyro");
    for (const [check] of checks)
      expect(check).toMatchObject({ severity: "note", evidence: { clocks_confirmed: true } });
  });
});
