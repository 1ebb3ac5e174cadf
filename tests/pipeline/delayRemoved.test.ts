import { expect, test } from "vitest";
import { defaultSettings } from "../../src/contract/settings.ts";
import { loadCampaign } from "../../src/pipeline/loadCampaign.ts";
import { measureOne } from "../../src/pipeline/measureOne.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { stillAir } from "../support/stillAir.ts";
import { evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

test("what is left without the delay is less than a fifth of the rms: it is taken out, not put in twice", async () => {
  const [run] = (await evaluateFlights({ "a.bag": shortFlight(71, stillAir) })).runs;
  const { delay, norm } = run!.tracking.cycles!.arm!;
  // 2 damping / (2 pi frequency) of the servo and its transport delay, to second order in the arm's rate
  expect(Math.abs(delay! - (2 * 0.85) / (2 * Math.PI * 6) - 0.02)).toBeLessThan(0.003);
  // a chord of 65 ms at 0.25 m/s is 16 mm; gain and curvature of the arm are 1.8 mm
  expect(norm.rms).toBeGreaterThan(0.014);
  expect(norm.rms_delay_removed).toBeLessThan(0.2 * norm.rms);
});

test("no delay is given where the command moves by less than five times the noise", async () => {
  const manifest = shortManifest(["a.bag"]);
  const effects = memoryEffects(manifest, { "a.bag": shortFlight(72) });
  const { campaign } = await loadCampaign("campaign.yaml", effects);
  const delayAt = async (effector: number, vehicle = 0): Promise<number | null> => {
    const [ofEffector, ofVehicle] = [effector / Math.sqrt(3), vehicle / Math.sqrt(3)];
    const known = {
      vehicle: { x: ofVehicle, y: ofVehicle, z: ofVehicle },
      effector: { x: ofEffector, y: ofEffector, z: ofEffector },
    };
    const job = {
      campaign,
      declaration: campaign.runs[0]!,
      manifestPath: "campaign.yaml",
      settings: defaultSettings,
      judgeIn: "world" as const,
      known,
    };
    return (await measureOne(job, effects)).measures.tracking.cycles!.arm!.delay;
  };
  // a circle of 60 mm moves by 60 mm rms: a fifth of it is 12 mm
  expect(await delayAt(0.0115)).not.toBeNull();
  expect(await delayAt(0.0125)).toBeNull();
  // the arm is seen from one body to the other: both are noisy, and independent
  expect(await delayAt(0.0115 * 0.6, 0.0115 * 0.8)).not.toBeNull();
  expect(await delayAt(0.0125 * 0.6, 0.0125 * 0.8)).toBeNull();
});
