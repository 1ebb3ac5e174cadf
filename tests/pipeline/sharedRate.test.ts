import { expect, test } from "vitest";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { Check } from "../../src/foundation/checks.ts";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { toRecording } from "../support/toRecording.ts";
import { manifestOf } from "./againstTruth.ts";

const settings = flightSettings({});

/** One flight of the hexacopter, in which both bodies sway along y at a rate besides what the flight does; its checks. */
async function checksWith(sway: { amplitude: number; hertz: number }, seed: number): Promise<readonly Check[]> {
  const whole = toRecording(simulateFlight(settings, seed), { file: "flight.bag" });
  const swaying = (name: "vehicle_pose" | "effector_pose"): void => {
    const signal = whole.signals.get(name)!;
    const { seconds } = signal.stamped ?? signal.received;
    const y = signal.columns.y!.map(
      (value, i) => value + sway.amplitude * Math.sin(2 * Math.PI * sway.hertz * (seconds[i]! - seconds[0]!)),
    );
    (whole.signals as Map<string, RecordedSignal>).set(name, { ...signal, columns: { ...signal.columns, y } });
  };
  swaying("vehicle_pose");
  swaying("effector_pose");
  const effects = memoryEffects(manifestOf(settings), { "flight.bag": whole });
  const { runs } = await evaluateCampaign("campaign.yaml", { effects, settings: defaultSettings });
  return runs[0]!.checks;
}

// 2 pi 60 mm at 0.25 m/s
const rate = 0.25 / (2 * Math.PI * 0.06);
const shared = (checks: readonly Check[]): Check | undefined => checks.find(({ code }) => code === "shared-rate");

test("a sway at the rate of the cycles is reported with its amplitude at rest; one at another rate, or none, is not", async () => {
  const found = shared(await checksWith({ amplitude: 0.004, hertz: rate }, 5));
  expect(found?.severity).toBe("doubt");
  expect(found?.message).toMatch(
    /^the vehicle moves at the rate of the cycles while the arm rests: y at 1 times the rate/,
  );
  expect(Number(found?.evidence.y_1_at_rest_m)).toBeGreaterThan(0.003);
  expect(Number(found?.evidence.y_1_at_rest_m)).toBeLessThan(0.005);
  expect(shared(await checksWith({ amplitude: 0.004, hertz: 1.43 * rate }, 5))).toBeUndefined();
  for (const seed of [5, 6, 7, 8])
    expect(shared(await checksWith({ amplitude: 0, hertz: rate }, seed))).toBeUndefined();
});
