import { expect, test } from "vitest";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { manifestFor } from "../../src/simulation/manifestFor.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { toRecording } from "../support/toRecording.ts";

const flight = flightSettings({
  frames: {
    armBase: { translation: [0.06, 0, -0.12], rotation: [0, Math.PI / 2, 0] },
    onboard: { translation: [0.1, -0.2, 0.05], rotation: [0, 0, 0.3] },
  },
});

test("manifestFor writes a manifest that the reader takes, with the simulation's own numbers", async () => {
  const text = manifestFor({
    title: 'Trial: swab "A"',
    baseline: "bare",
    candidate: "weighted",
    smallestDifference: 0.0015,
    flight,
    configurations: {
      bare: { label: "Arm alone" },
      weighted: { label: "Counterweights fitted", counterweights: [{ mass: 0.27, at: [-0.14, 0, 0.02] }] },
    },
    trajectories: { orbit: flight.trajectory, hold: { shape: "hold", duration: 60 } },
    runs: [
      { log: "a.bag", configuration: "bare", trajectory: "orbit", block: "day1", takeoffMass: 4.605 },
      {
        log: "b.bag",
        configuration: "weighted",
        trajectory: "hold",
        started: "2025-10-14T08:10:37Z",
        exclude: "arm jammed",
      },
    ],
  });
  const campaign = await readCampaign(text, { file: "campaign.yaml", readText: () => "" });
  expect(campaign.title).toBe('Trial: swab "A"');
  expect(campaign.smallestDifference.vehicle).toBeCloseTo(0.0015, 15);
  expect(campaign.configurations.weighted!.addedMass).toBeCloseTo(0.27, 15);
  expect(campaign.configurations.weighted!.counterweights[0]!.at[0]).toBeCloseTo(-0.14, 15);
  expect(campaign.frames.toolPoint[2]).toBeCloseTo(-0.045, 15);
  // half a right angle in the quaternion: sin 45 degrees
  expect(campaign.frames.armBase.rotation[1]).toBeCloseTo(Math.SQRT1_2, 12);
  expect(campaign.frames.onboard.rotation[2]).toBeCloseTo(Math.sin(0.15), 10);
  const orbit = campaign.trajectories.orbit!;
  expect(orbit.shape === "circle" ? orbit.period : 0).toBeCloseTo((2 * Math.PI * 0.06) / 0.25, 12);
  expect(campaign.signals.effector_command!.frame).toBe("arm_base");
  expect(campaign.clocks.others.mocap!.kind).toBe("same-motion");
  expect(campaign.runs[0]!.takeoffMass).toBeCloseTo(4.605, 12);
  expect(campaign.runs[1]!.exclude).toBe("arm jammed");
});

test("toRecording hands the signals over by name, with first and last receipt, and says what is missing", () => {
  const settings = flightSettings({
    trajectory: { shape: "hold", duration: 4 },
    faults: [{ kind: "missing", signal: "vehicle_rate" }],
  });
  const simulated = simulateFlight(settings, 1);
  const recording = toRecording(simulated, { wanted: ["vehicle_pose", "vehicle_rate"] });
  expect(recording.signals.get("vehicle_pose")).toBe(simulated.signals.find(({ signal }) => signal === "vehicle_pose"));
  expect(recording.missing.map(({ signal, reason }) => [signal, reason])).toEqual([["vehicle_rate", "absent"]]);
  const first = Number(recording.start! - settings.start) / 1e9;
  const last = Number(recording.end! - settings.start) / 1e9;
  expect(first).toBeGreaterThan(0);
  expect(first).toBeLessThan(0.05);
  expect(last).toBeGreaterThan(3.9);
  expect(last).toBeLessThan(4.1);
});
