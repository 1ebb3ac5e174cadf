import { expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { toRecording } from "../support/toRecording.ts";
import { turnedWorld, withoutSetpointAttitude } from "../support/turnedWorld.ts";
import { evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

/** What contradicts the motion grossly leaves the verdict, and says what it most likely is. The wrongs are made by exact arithmetic. */

const sound = toRecording(shortFlight(41));
type Columns = Readonly<Record<string, Float64Array>>;
const change = (names: readonly SignalName[], of: (columns: Columns) => Columns): Recording => ({
  ...sound,
  signals: new Map(
    [...sound.signals].map(([name, signal]) => [
      name,
      names.includes(name) ? { ...signal, columns: { ...signal.columns, ...of(signal.columns) } } : signal,
    ]),
  ),
});
const scaled =
  (ratio: number) =>
  ({ x, y, z }: Columns): Columns => ({
    x: x!.map((value) => ratio * value),
    y: y!.map((value) => ratio * value),
    z: z!.map((value) => ratio * value),
  });
const fly = async (recording: Recording): Promise<RunEvaluation> =>
  (await evaluateFlights({ "a.bag": recording }, shortManifest(["a.bag"]))).runs[0]!;
const unusable = (run: RunEvaluation): string =>
  run.checks
    .filter(({ severity }) => severity === "unusable")
    .map(({ code, message }) => `${code}: ${message}`)
    .join("\n");
const suspects = (run: RunEvaluation) => run.checks.filter(({ code }) => code === "frame-suspect");

test("the flight all this is made from has no such finding", async () => {
  const run = await fly(sound);
  expect(unusable(run)).toBe("");
  expect(suspects(run)).toEqual([]);
});

test("a capture in inches", async () => {
  const run = await fly(change(["vehicle_pose", "effector_pose"], scaled(1 / 0.0254)));
  expect(run.used).toBe(false);
  expect(unusable(run)).toMatch(
    /measured positions are 39\.\d times the commanded ones: inches taken for metres in the capture\?/,
  );
});

test("a setpoint in feet", async () => {
  const run = await fly(change(["vehicle_setpoint"], scaled(1 / 0.3048)));
  expect(run.used).toBe(false);
  expect(unusable(run)).toMatch(
    /commanded positions are 3\.\d+ times the measured ones: feet taken for metres in the command\?/,
  );
});

test("an arm's command in millimetres, and a tool in inches", async () => {
  const command = await fly(change(["effector_command"], scaled(1000)));
  expect(command.used).toBe(false);
  const tool = await fly(change(["effector_pose"], scaled(1 / 0.0254)));
  expect(tool.used).toBe(false);
  expect(unusable(tool)).toMatch(/inches taken for metres in the capture\?/);
});

test("a world that is metres away makes a run unusable, one half a metre away is a doubt about its constant part", async () => {
  const moved = (metres: number) =>
    change(["vehicle_pose", "effector_pose"], ({ x }) => ({ x: x!.map((value) => value + metres) }));
  const far = await fly(moved(1.8));
  expect(far.used).toBe(false);
  expect(unusable(far)).toMatch(/stands 1\.80 m from its setpoint/);
  const near = await fly(moved(0.5));
  expect(near.used).toBe(true);
  expect(suspects(near)).toMatchObject([
    { severity: "doubt", touches: { subjects: ["vehicle", "effector"], part: "bias" } },
  ]);
});

test("an axis that never changes, and one that is noise", async () => {
  const still = await fly(change(["vehicle_pose"], ({ x }) => ({ x: x!.map(() => 0.4) })));
  expect(still.used).toBe(false);
  expect(unusable(still)).toMatch(/frozen: x of vehicle_pose keeps one value throughout/);
  const random = seededRandom(5);
  const noise = await fly(change(["vehicle_pose"], ({ x }) => ({ x: x!.map(() => 5 * random.normal()) })));
  expect(noise.used).toBe(false);
});

test("a commanded yaw of the other sense", async () => {
  // the vehicle flies at 50 degrees, its setpoint says -50
  const turned = turnedWorld(sound, (50 * Math.PI) / 180);
  const setpoint = turned.signals.get("vehicle_setpoint")!;
  const columns = { ...setpoint.columns, qz: setpoint.columns.qz!.map((value) => -value) };
  const signals = new Map([...turned.signals, ["vehicle_setpoint", { ...setpoint, columns }] as const]);
  const run = await fly({ ...turned, signals });
  expect(run.used).toBe(false);
  expect(unusable(run)).toMatch(
    /yaw of -50 degrees is taken for commanded, but the vehicle flies at (49|50) degrees.*other sense/,
  );
});

test("a yaw that was only assumed is doubted by its lever: from where it outweighs the smallest difference", async () => {
  const at = async (degrees: number) =>
    suspects(await fly(withoutSetpointAttitude(turnedWorld(sound, (degrees * Math.PI) / 180))));
  expect(await at(0)).toEqual([]);
  const [check] = await at(9);
  expect(check).toMatchObject({
    severity: "doubt",
    touches: { subjects: ["effector"], axes: ["x", "y"] },
  });
  // the arm rests 0.14 m ahead of a base 0.06 m ahead of the body: 0.2 m, whatever the circle in y and z adds to its mean
  expect(check!.evidence.lever_m).toBeCloseTo(0.2, 2);
  expect(check!.evidence.effect_m as number).toBeCloseTo((0.2 * 9 * Math.PI) / 180, 2);
});
