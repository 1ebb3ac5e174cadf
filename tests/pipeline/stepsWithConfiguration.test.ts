import { expect, test } from "vitest";
import type { RunCheck } from "../../src/contract/evaluation.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import { quaternionOfAngles } from "../../src/simulation/attitude.ts";
import { evaluateSetUp, type Judged } from "./wrongSetUps/outcome.ts";
import type { Remembered } from "./wrongSetUps/remembered.ts";
import { type Step, soundCampaign, soundFlight } from "./wrongSetUps/soundCampaign.ts";
import {
  candidate,
  captured,
  plus,
  poses,
  redefined,
  secondDay,
  stamps,
  times,
  turnedAbout,
  type Which,
} from "./wrongSetUps/steps.ts";

// Simulated flights of which some things cannot have changed with the weights; each is made to in the candidate's runs alone.

/** Runs that no step changed are measured once. */
const measured: Remembered = new Map();

async function judged(...steps: Step[]): Promise<Judged> {
  const setUp = steps.reduce((sound, step) => step(sound), soundCampaign(1, "none"));
  const found = await evaluateSetUp(setUp, measured, measured);
  if (typeof found === "string") throw new Error(found);
  return found;
}

const doubts = ({ runs }: Judged): RunCheck[] =>
  runs[0]!.checks.filter(
    ({ code, severity }) => severity === "doubt" && ["clock-apart", "frame-suspect"].includes(code),
  );

const later = (names: readonly SignalName[], by: number, where?: Which): Step =>
  stamps(names, (stamp) => stamp + by, where);

test("a gyro that is 15 ms late in one configuration moves the clock there, and no clock knows what is flown", async () => {
  const found = await judged(later(["vehicle_rate"], 0.015, candidate));
  const clock = doubts(found).find(({ evidence }) => evidence.clock === "mocap")!;
  // gyro and attitude of these flights agree to some 1 ms in eight runs
  expect(clock.evidence.step_s).toBeCloseTo(-0.015, 2);
  expect(clock.message).toContain("no clock knows what is flown");
  // the vehicle hovers at rest: no clock moves its error
  expect(clock.touches.subjects).toEqual(["effector", "arm"]);
  for (const { in_family, subject, verdict } of found.cells)
    if (in_family && subject === "effector") expect(verdict).toBe("doubted");
});

test("stamps of one signal that lie later against their receipt in one configuration are named to the microsecond", async () => {
  const [found, ...more] = doubts(await judged(later(["effector_command"], 0.02, candidate)));
  expect(found!.evidence).toMatchObject({ signal: "effector_command" });
  // receipts jitter by 0.1 ms in hundreds of messages
  expect(found!.evidence.step_s).toBeCloseTo(0.02, 4);
  // the others of its clock, beside whose middle it is, are not at fault
  expect(more).toEqual([]);
});

test("a capture that is 2 % larger in one configuration is told by reach and path, wherever its origin is", async () => {
  const home = soundFlight.setpoint;
  const larger = poses(
    ({ position, attitude }) => ({ position: plus(home, times(1.02, plus(position, times(-1, home)))), attitude }),
    candidate,
    captured,
  );
  const [found] = doubts(await judged(larger));
  expect(found!.message).toContain("the capture is larger in the runs of Counterweights fitted");
  // the path to a tenth of that; the markers' distance is that of tool marker, not tool point
  expect(found!.evidence.gain_share).toBeCloseTo(Math.log(1.02), 3);
  expect(Math.abs((found!.evidence.reach_share as number) / Math.log(1.02) - 1)).toBeLessThan(0.3);
});

const threeDegrees = quaternionOfAngles(0, 0, Math.PI / 60);

test("a capture that is turned by 3 degrees in one configuration turns vehicle and tool together, and holds back the tool's errors", async () => {
  const found = await judged(poses(turnedAbout(threeDegrees, soundFlight.setpoint), candidate));
  const [turned] = doubts(found);
  expect(turned!.message).toContain("vehicle and tool together hang turned by 3.0 degrees");
  // the flights' own mean yaw differs by some tenths of a degree
  expect((turned!.evidence.turn_rad as number[])[2]).toBeCloseTo(Math.PI / 60, 2);
  // turned about the vertical, nothing moves up or down
  expect(turned!.touches).toMatchObject({ subjects: ["effector"], axes: ["x", "y"] });
  for (const { in_family, subject, axis, verdict } of found.cells)
    if (in_family && subject === "effector" && axis !== "z") expect(verdict).toBe("doubted");
});

test("a vehicle whose captured places are stretched by a half in one configuration leaves the tool behind that it carries", async () => {
  const home = soundFlight.setpoint;
  const stretched = poses(
    ({ position, attitude }) => ({ position: plus(home, times(1.5, plus(position, times(-1, home)))), attitude }),
    candidate,
    ["vehicle_pose"],
  );
  const found = await judged(stretched);
  const left = doubts(found).find(({ message }) => message.includes("carried along"))!;
  // 1 / 1.5 of what is stretched; the tilt that carries the tool too is not, so that the share lies between that and the limit
  expect(left.evidence.y_log_share as number).toBeGreaterThan(-Math.log(1.5));
  expect(left.evidence.y_log_share as number).toBeLessThan(-0.15);
  expect(left.touches.axes).toContain("y");
  for (const { in_family, subject, axis, verdict } of found.cells)
    if (in_family && subject === "vehicle" && axis !== "norm" && left.touches.axes!.includes(axis))
      expect(verdict).toBe("doubted");
});

test("nothing is said where all is sound, where a marker slipped, or where both configurations changed alike", async () => {
  const slipped = poses(redefined([0, 0, 0, 1], [0, 0.0064, 0.0064]), candidate, ["effector_pose"]);
  const movedAgain = later(["vehicle_rate"], 0.015, secondDay);
  const bodyTurned = poses(redefined(threeDegrees), candidate, ["vehicle_pose"]);
  for (const steps of [[], [slipped], [bodyTurned], [movedAgain]]) expect(doubts(await judged(...steps))).toEqual([]);
});
