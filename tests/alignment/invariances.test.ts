import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { CampaignEvaluation, RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, StampColumn } from "../../src/foundation/recording.ts";
import type { Vector3 } from "../../src/foundation/units.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { manifestFor } from "../../src/simulation/manifestFor.ts";
import { type SimulatedFlight, simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";

const settings = flightSettings({
  timeline: { hold: 12, pause: 1, rest: 2, takeOff: false },
  trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 6, rampIn: 0 },
});

/** The whole journey for one flight. */
async function evaluate(flight: SimulatedFlight, shared = settings): Promise<CampaignEvaluation> {
  const manifest = manifestFor({
    title: "Tank-wall swab arm",
    baseline: "bare",
    candidate: "weighted",
    smallestDifference: 0.0015,
    flight: shared,
    configurations: { bare: { label: "Arm alone" }, weighted: { label: "Counterweights fitted" } },
    trajectories: { orbit: settings.trajectory },
    runs: [{ log: "flight.bag", configuration: "bare", trajectory: "orbit" }],
  });
  return evaluateCampaign("campaign.yaml", { effects: memoryEffects(manifest, { "flight.bag": flight }) });
}

const withSignals = (flight: SimulatedFlight, change: (signal: RecordedSignal) => RecordedSignal): SimulatedFlight => ({
  ...flight,
  signals: flight.signals.map(change),
});
const isCapture = ({ signal }: RecordedSignal): boolean => signal === "vehicle_pose" || signal === "effector_pose";
const seeds = fc.integer({ min: 0, max: 100_000 });

test("the flight all this rests on is sound: judged, clock found, six cycles", async () => {
  const [run] = (await evaluate(simulateFlight(settings, 1))).runs;
  expect(run!.used).toBe(true);
  expect(run!.windows.cycles.length).toBe(6);
  expect(run!.checks.filter(({ severity }) => severity !== "note")).toEqual([]);
  // set by the simulation; its stamps are exact, its gyro and capture are noisy
  expect(Math.abs(run!.clocks.mocap!.offset + 0.137)).toBeLessThan(4 * run!.clocks.mocap!.offset_se!);
});

test("q and -q are one attitude: signs drawn at random for every message change nothing at all", async () => {
  await fc.assert(
    fc.asyncProperty(seeds, async (seed) => {
      const flight = simulateFlight(settings, seed);
      const { uniform } = seededRandom(seed);
      const mixed = withSignals(flight, (signal) => {
        if (signal.columns.qw === undefined) return signal;
        const sign = signal.columns.qw.map(() => (uniform() < 0.5 ? -1 : 1));
        const columns = { ...signal.columns };
        for (const name of ["qx", "qy", "qz", "qw"]) columns[name] = columns[name]!.map((q, i) => q * sign[i]!);
        return { ...signal, columns };
      });
      // bit by bit, but for the overall sign of a track, which squares away exactly
      expect(await evaluate(mixed)).toEqual(await evaluate(flight));
    }),
    { seed: 241, numRuns: 3 },
  );
});

test("whole seconds added to every clock's epoch change the epoch and nothing else", async () => {
  await fc.assert(
    fc.asyncProperty(seeds, fc.integer({ min: -100_000_000, max: 1_000_000_000 }), async (seed, seconds) => {
      const flight = simulateFlight(settings, seed);
      const by = BigInt(seconds) * 1_000_000_000n;
      const move = (column: StampColumn): StampColumn => ({ ...column, epoch: column.epoch + by });
      const later = withSignals(flight, (signal) => ({
        ...signal,
        received: move(signal.received),
        stamped: signal.stamped === null ? null : move(signal.stamped),
      }));
      const before = await evaluate(flight);
      const after = await evaluate(later);
      expect(BigInt(after.runs[0]!.epoch!) - BigInt(before.runs[0]!.epoch!)).toBe(by);
      const withoutEpoch = (evaluation: CampaignEvaluation) => ({
        ...evaluation,
        runs: evaluation.runs.map((run) => ({ ...run, epoch: null })),
      });
      expect(withoutEpoch(after)).toEqual(withoutEpoch(before));
    }),
    { seed: 242, numRuns: 3 },
  );
});

test("the order of the messages in the log changes nothing but the check that says so", async () => {
  await fc.assert(
    fc.asyncProperty(seeds, async (seed) => {
      const flight = simulateFlight(settings, seed);
      const { uniform } = seededRandom(seed);
      const shuffled = withSignals(flight, (signal) => {
        const order = signal.received.seconds.map((_, i) => i);
        for (let i = order.length - 1; i > 0; i--) {
          const j = Math.floor((i + 1) * uniform());
          [order[i], order[j]] = [order[j]!, order[i]!];
        }
        const pick = (column: Float64Array): Float64Array => order.map((i) => column[i]!);
        const stamps = (column: StampColumn): StampColumn => ({ ...column, seconds: pick(column.seconds) });
        return {
          ...signal,
          received: stamps(signal.received),
          stamped: signal.stamped === null ? null : stamps(signal.stamped),
          columns: Object.fromEntries(Object.entries(signal.columns).map(([name, column]) => [name, pick(column)])),
        };
      });
      const inOrder = (evaluation: CampaignEvaluation): RunEvaluation[] =>
        evaluation.runs.map((run) => ({ ...run, checks: run.checks.filter(({ code }) => code !== "stamp-backward") }));
      const after = await evaluate(shuffled);
      expect(inOrder(after)).toEqual(inOrder(await evaluate(flight)));
      expect(after.runs[0]!.checks.map(({ code }) => code)).toContain("stamp-backward");
    }),
    { seed: 243, numRuns: 3 },
  );
});

describe("a capture world that stands otherwise, and is declared to", () => {
  /** The same flight seen by a capture system whose world is turned by `yaw` and moved. */
  function turned(flight: SimulatedFlight, yaw: number, by: Vector3): SimulatedFlight {
    const [c, s] = [Math.cos(yaw), Math.sin(yaw)];
    const [h, k] = [Math.cos(yaw / 2), Math.sin(yaw / 2)];
    return withSignals(flight, (signal) => {
      if (!isCapture(signal)) return signal;
      const { x, y, z, qx, qy, qz, qw } = signal.columns as Record<string, Float64Array>;
      return {
        ...signal,
        columns: {
          x: x!.map((_, i) => c * x![i]! - s * y![i]! + by[0]),
          y: x!.map((_, i) => s * x![i]! + c * y![i]! + by[1]),
          z: z!.map((value) => value + by[2]),
          // yaw o q, Hamilton, by components
          qx: qx!.map((_, i) => h * qx![i]! - k * qy![i]!),
          qy: qx!.map((_, i) => h * qy![i]! + k * qx![i]!),
          qz: qx!.map((_, i) => h * qz![i]! + k * qw![i]!),
          qw: qx!.map((_, i) => h * qw![i]! - k * qz![i]!),
        },
      };
    });
  }
  const declared = (yaw: number, by: Vector3) =>
    flightSettings({ frames: { onboard: { translation: by, rotation: [0, 0, yaw] } } }, settings);

  // errors of millimetres from positions of metres and a manifest of twelve digits: 1e-10; 1e-9 m is a millionth of a mm
  const metres = 1e-9;
  const close = (a: number, b: number, tolerance = metres): void => expect(Math.abs(a - b)).toBeLessThan(tolerance);

  test("the bias turns with it, the length of the error and what the arm did stay", async () => {
    await fc.assert(
      fc.asyncProperty(seeds, fc.double({ min: -3, max: 3, noNaN: true }), async (seed, yaw) => {
        const by: Vector3 = [1.25, -0.5, 0.125];
        const flight = simulateFlight(settings, seed);
        const before = (await evaluate(flight)).runs[0]!;
        const after = (await evaluate(turned(flight, yaw, by), declared(yaw, by))).runs[0]!;
        // instants come from the commands and the clock, which the world does not touch: a microsecond's millionth
        close(after.clocks.mocap!.offset, before.clocks.mocap!.offset, 1e-9);
        expect(after.windows.cycles.length).toBe(before.windows.cycles.length);
        for (const subject of ["vehicle", "effector"] as const) {
          const a = before.tracking!.cycles![subject]!;
          const b = after.tracking!.cycles![subject]!;
          close(b.x.bias, Math.cos(yaw) * a.x.bias - Math.sin(yaw) * a.y.bias);
          close(b.y.bias, Math.sin(yaw) * a.x.bias + Math.cos(yaw) * a.y.bias);
          close(b.z.bias, a.z.bias);
          close(b.z.rms, a.z.rms);
          for (const figure of ["bias", "sd", "rms", "mean_abs", "p95", "max_abs"] as const)
            close(b.norm[figure], a.norm[figure]);
          const hoverBefore = before.hold![subject]!;
          const hoverAfter = after.hold![subject]!;
          close(hoverAfter.about_mean.r50, hoverBefore.about_mean.r50);
          close(hoverAfter.about_setpoint.r95, hoverBefore.about_setpoint.r95);
          close(hoverAfter.x.slope!, Math.cos(yaw) * hoverBefore.x.slope! - Math.sin(yaw) * hoverBefore.y.slope!);
        }
        for (const axis of ["x", "y", "z"] as const) {
          const a = before.tracking!.cycles!.arm![axis];
          const b = after.tracking!.cycles!.arm![axis];
          for (const figure of ["bias", "sd", "rms", "max_abs"] as const) close(b[figure], a[figure]);
        }
      }),
      { seed: 244, numRuns: 3 },
    );
  });

  test("a quarter turn exchanges the axes: every figure of the new x is the old y's", async () => {
    const flight = simulateFlight(settings, 9);
    const by: Vector3 = [0, 0, 0];
    const before = (await evaluate(flight)).runs[0]!.tracking!.cycles!;
    const after = (await evaluate(turned(flight, Math.PI / 2, by), declared(Math.PI / 2, by))).runs[0]!.tracking!
      .cycles!;
    for (const subject of ["vehicle", "effector"] as const) {
      for (const figure of ["sd", "rms", "mean_abs", "p95", "max_abs", "range"] as const) {
        // x' = -y, y' = x
        close(after[subject]!.x[figure]!, before[subject]!.y[figure]!);
        close(after[subject]!.y[figure]!, before[subject]!.x[figure]!);
      }
    }
  });

  test("undeclared, the same turn is error: the vehicle seems metres off", async () => {
    const flight = simulateFlight(settings, 10);
    const run = (await evaluate(turned(flight, Math.PI / 2, [0, 0, 0]))).runs[0]!;
    // setpoint (0.4, -0.2) against (0.2, 0.4): (-0.2, 0.6), by hand, to the vehicle's own few millimetres
    expect(run.tracking!.cycles!.vehicle!.x.bias).toBeCloseTo(-0.2, 1);
    expect(run.tracking!.cycles!.vehicle!.y.bias).toBeCloseTo(0.6, 1);
  });
});
