import { describe, expect, test } from "vitest";
import type { Recording } from "../../src/foundation/recording.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { simulateStaticCapture } from "../../src/simulation/capture.ts";
import { stillAir } from "../support/stillAir.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const settings = shortSettings({ capture: { rate: 100, positionNoise: [1e-4, 2e-4, 4e-4], attitudeNoise: 7e-4 } });
const capture = (seed: number, seconds = 40): Recording => toRecording(simulateStaticCapture(settings, seconds, seed));
const flight = (seed: number) => shortFlight(seed, { capture: settings.capture });

/** The recording with its vehicle carried along x by `by` metres from beginning to end. */
function creeping(recording: Recording, by: number): Recording {
  const pose = recording.signals.get("vehicle_pose")!;
  const x = pose.columns.x!.map((value, i, column) => value + (by * i) / (column.length - 1));
  const signals = new Map(recording.signals);
  return { ...recording, signals: signals.set("vehicle_pose", { ...pose, columns: { ...pose.columns, x } }) };
}

describe("measurement noise", () => {
  test("comes from the static captures where there are any: sd of both bodies at their control points", async () => {
    const manifest = shortManifest(["a.bag"], { staticCaptures: ["before.bag", "after.bag"] });
    const { noise } = await evaluateFlights(
      { "a.bag": flight(1), "before.bag": capture(11), "after.bag": capture(12) },
      manifest,
    );
    expect(noise!.source).toBe("static");
    expect(noise!.detail.captures).toEqual(["before.bag", "after.bag"]);
    const { truth } = flight(1);
    for (const body of ["vehicle", "effector"] as const)
      axes.forEach((axis, i) => {
        // sd of 2 x 4000 readings: sampling error 1 / root(2 x 8000) = 0.8 %; four of them
        expect(Math.abs(noise![body]![axis] / truth.noise[body][i]! - 1)).toBeLessThan(0.032);
        const detail = noise!.detail[body]![axis];
        expect(Math.abs(detail.successive_difference / detail.sd - 1)).toBeLessThan(0.04);
        // at rest: slope within 4 standard errors, sd / (40 s root(4000 / 12)) / root 2
        expect(Math.abs(detail.drift!)).toBeLessThan((4 * detail.sd) / (40 * Math.sqrt(4000 / 12) * Math.SQRT2));
      });
  });

  test("is estimated in flight where there are none, and labelled so", async () => {
    const { noise } = await evaluateFlights({ "a.bag": flight(1) });
    expect(noise).toMatchObject({ source: "in flight", detail: { captures: [], checks: [] } });
    for (const body of ["vehicle", "effector"] as const)
      axes.forEach((axis, i) => {
        // 2000 third differences: sd 2.4 %; four of them
        expect(Math.abs(noise![body]![axis] / flight(1).truth.noise[body][i]! - 1)).toBeLessThan(0.1);
      });
  });

  test("is estimated from the runs that can be trusted: one in millimetres does not make that of the others", async () => {
    const millimetres = flight(2);
    const signals = new Map(
      [...millimetres.signals].map((signal) => [
        signal.signal,
        signal.signal.endsWith("_pose")
          ? {
              ...signal,
              columns: Object.fromEntries(
                Object.entries(signal.columns).map(([name, column]) => [
                  name,
                  "xyz".includes(name) ? column.map((value) => 1000 * value) : column,
                ]),
              ),
            }
          : signal,
      ]),
    );
    const manifest = shortManifest(["a.bag", "b.bag"]);
    const { noise, runs } = await evaluateFlights(
      { "a.bag": flight(1), "b.bag": { ...toRecording(millimetres), signals } },
      manifest,
    );
    expect(runs.map(({ used }) => used)).toEqual([true, false]);
    for (const body of ["vehicle", "effector"] as const)
      axes.forEach((axis, i) => {
        // as above
        expect(Math.abs(noise![body]![axis] / flight(1).truth.noise[body][i]! - 1)).toBeLessThan(0.1);
      });
    expect(runs[0]!.checks.filter(({ code }) => code === "at-noise")).toEqual([]);
  });

  test("a static capture that was not at rest is left out, and it is said which and how far it went", async () => {
    const manifest = shortManifest(["a.bag"], { staticCaptures: ["carried.bag", "still.bag"] });
    const evaluation = await evaluateFlights(
      { "a.bag": flight(1), "carried.bag": creeping(capture(11), 0.1), "still.bag": capture(12) },
      manifest,
    );
    const { noise } = evaluation;
    expect(noise!.source).toBe("static");
    const [check] = noise!.detail.checks;
    expect(check!.severity).toBe("doubt");
    expect(check!.message).toMatch(/static capture carried\.bag: vehicle_pose wanders by 28\.9 mm \(sd\)/);
    // a ramp of 100 mm has sd 100 / root 12
    expect(check!.evidence.sd_m).toBeCloseTo(0.1 / Math.sqrt(12), 4);
    expect(Math.abs(noise!.vehicle!.x / flight(1).truth.noise.vehicle[0] - 1)).toBeLessThan(0.05);
  });

  test("static captures that hold nothing stop nothing: the noise is estimated in flight", async () => {
    const manifest = shortManifest(["a.bag"], { staticCaptures: ["empty.bag"] });
    const empty: Recording = { ...capture(1), signals: new Map() };
    const { noise, runs } = await evaluateFlights({ "a.bag": flight(1), "empty.bag": empty }, manifest);
    expect(noise!.source).toBe("in flight");
    expect(runs[0]!.used).toBe(true);
  });

  test("a static capture that is not there is an error of the manifest, before anything is judged", async () => {
    const manifest = shortManifest(["a.bag"], { staticCaptures: ["lost.bag"] });
    await expect(evaluateFlights({ "a.bag": flight(1) }, manifest)).rejects.toMatchObject({
      code: "file-missing",
      message: "static_captures: found no file lost.bag, expected a static capture",
    });
  });
});

describe("at the noise", () => {
  test("axes whose rms is below three noise sd are reported", async () => {
    // the vehicle moved by its arm alone and captured with noise of 5 mm: nothing of it can be seen along x
    const noisy = shortFlight(1, {
      ...stillAir,
      capture: { rate: 100, positionNoise: [5e-3, 2e-5, 2e-5], attitudeNoise: 2e-5 },
      gyro: { rate: 200, noise: 2e-4, bias: [0, 0, 0] },
      clock: { offset: 0, skew: 0 },
    });
    const manifest = shortManifest(["a.bag"], {
      captureClock: "known",
      flight: shortSettings({ clock: { offset: 0 } }),
    });
    const { runs } = await evaluateFlights({ "a.bag": noisy }, manifest);
    const [check] = checksOf(runs[0]!, "at-noise");
    expect(check!.severity).toBe("note");
    expect(check!.message).toMatch(/^rms below 3 times the measurement noise: vehicle x/);
    expect(check!.evidence.vehicle_x_rms_m).toBeCloseTo(runs[0]!.tracking.cycles!.vehicle!.x.rms, 12);
    expect(Math.abs((check!.evidence.vehicle_x_noise_m as number) / 5e-3 - 1)).toBeLessThan(0.1);
    // what moves by centimetres does not count among them
    expect(check!.message).not.toMatch(/effector [yz]/);
    expect(runs[0]!.used).toBe(true);
  });
});
