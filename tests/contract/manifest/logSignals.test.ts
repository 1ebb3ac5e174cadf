import { describe, expect, test } from "vitest";
import type { SignalSource } from "../../../src/contract/campaign.ts";
import { readCampaign } from "../../../src/contract/manifest/readCampaign.ts";

const manifest = (pose: string, more = ""): string => `title: x
baseline: bare
candidate: other
configurations: { bare: { label: A }, other: { label: B } }
signals:
  vehicle_pose: { ${pose} }
  vehicle_setpoint: { topic: /sp }
${more}trajectories: { orbit: { shape: logged } }
runs: [{ log: a.csv, configuration: bare, trajectory: orbit }]
`;
const read = (text: string) =>
  readCampaign(text, { file: "campaign.yaml", readText: () => Promise.reject(new Error("no table")) });
const poseOf = async (pose: string): Promise<SignalSource> => (await read(manifest(pose))).signals.vehicle_pose!;

describe("axes", () => {
  test.each([
    ["{ world: ned }", { world: "ned", body: "frd" }],
    ["{ world: frd }", { world: "frd", body: "frd" }],
    ["{ world: ned, body: flu }", { world: "ned", body: "flu" }],
    ["{ body: frd }", { world: "enu", body: "frd" }],
    ["{ world: enu }", { world: "enu", body: "flu" }],
  ])("%s", async (axes, expected) => {
    expect((await poseOf(`topic: /p, axes: ${axes}`)).axes).toEqual(expected);
  });

  test("that are not declared are the campaign's own", async () => {
    expect((await poseOf("topic: /p")).axes).toBeNull();
  });

  test("of another name are refused with those there are", async () => {
    await expect(read(manifest("topic: /p, axes: { world: new }"))).rejects.toThrow(
      /enu, ned or frd.*did you mean ned/s,
    );
  });

  test("of the world make no sense for a command in the arm's frame, and none at all for a battery", async () => {
    const arm = "  effector_command: { topic: /arm, frame: arm_base, axes: { world: ned } }\n";
    await expect(read(manifest("topic: /p", arm))).rejects.toThrow(
      /found axes of the world for a command in the frame arm_base/,
    );
    const battery = "  battery: { topic: /b, axes: { body: frd } }\n";
    await expect(read(manifest("topic: /p", battery))).rejects.toThrow(
      /found axes for battery, which has no direction/,
    );
  });
});

test("numbers of frames are declared by their rate, which is the unit of nothing else", async () => {
  const columns = "columns: { t: a, x: b, y: c, z: d }";
  expect((await poseOf(`${columns}, units: { t: 100 Hz }`)).units).toEqual({ t: "100 Hz" });
  await expect(read(manifest(`${columns}, units: { t: 0 Hz }`))).rejects.toThrow(/unknown unit.*100 Hz for numbers/);
  await expect(read(manifest(`${columns}, units: { position: 100 Hz }`))).rejects.toThrow(/unknown unit/);
});

test("dates are declared as iso, and no other word passes for a unit of time", async () => {
  const columns = "columns: { t: a, x: b, y: c, z: d }";
  expect((await poseOf(`${columns}, units: { t: iso }`)).units).toEqual({ t: "iso" });
  await expect(read(manifest(`${columns}, units: { t: dates }`))).rejects.toThrow(/unknown unit.*iso for dates/);
});

describe("markers", () => {
  test("are places in metres by their labels", async () => {
    const { markers } = await poseOf(
      "markers: { A1: [10 mm, 0 mm, 0 mm], A2: [0 mm, 2 cm, 0 mm], A 3: [0 mm, 0 mm, 0.03 m] }",
    );
    expect(markers).toEqual({ A1: [0.01, 0, 0], A2: [0, 0.02, 0], "A 3": [0, 0, 0.03] });
  });

  test.each([
    [
      "markers: { A1: [1 mm, 0 mm, 0 mm], A2: [0 mm, 1 mm, 0 mm] }",
      /found 2 markers, expected one \(a point\) or at least three/,
    ],
    ["markers: {}", /found 0 markers/],
    ["markers: { A1: [0 mm, 5 mm, 0 mm] }", /found a place for the only marker A1/],
    ["markers: { A1: [1, 2, 3] }", /A1/],
    ["topic: /p, markers: { A1: [1 mm, 0 mm, 0 mm] }", /both topic and markers/],
    ["clock: a", /neither topic nor columns/],
  ])("%s is refused", async (pose, words) => {
    await expect(read(manifest(pose))).rejects.toThrow(words);
  });

  test("belong to poses, not to commands", async () => {
    const setpoint = "  effector_command: { markers: { A1: [1 mm, 0 mm, 0 mm] }, frame: world }\n";
    await expect(read(manifest("topic: /p", setpoint))).rejects.toThrow(/found markers for effector_command/);
  });
});
