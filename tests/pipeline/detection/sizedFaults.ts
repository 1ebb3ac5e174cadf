import type { CheckCode } from "../../../src/foundation/checks.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { quaternionOfAngles } from "../../../src/simulation/attitude.ts";
import { flightSettings } from "../../../src/simulation/flightSettings.ts";
import { takenFor } from "../wrongSetUps/commandSlips.ts";
import { exchanged, frozenPosition, leaves, noisy } from "../wrongSetUps/faultSlips.ts";
import { type Step, soundFlight } from "../wrongSetUps/soundCampaign.ts";
import {
  candidate,
  captured,
  declared,
  plus,
  poses,
  redefined,
  rows,
  signals,
  stamps,
  times,
  turnedAbout,
  type Which,
} from "../wrongSetUps/steps.ts";

/** A fault in sizes, and the check that is to find it. */
export interface SizedFault {
  readonly check: CheckCode;
  readonly fault: string;
  readonly sizes: readonly { readonly size: string; readonly steps: readonly Step[] }[];
  /** the runs that carry it; default all */
  readonly where?: Which;
}

/** As the sound flight, with a hold of 15 s as is advised: cycles from 16 to 25 s, six of 1.5 s. */
export const detectionFlight = flightSettings({ timeline: { ...soundFlight.timeline, hold: 15 } }, soundFlight);
const middle = 20.5;
const end = 25;
const everyRun: Which = () => true;
const { offset } = detectionFlight.clock;

const sized = <T>(values: readonly T[], size: (value: T) => string, steps: (value: T) => Step | readonly Step[]) =>
  values.map((value) => ({ size: size(value), steps: [steps(value)].flat() }));
const milliseconds = (value: number): string => `${1000 * value} ms`;
const millimetres = (value: number): string => `${1000 * value} mm`;
const seconds = (value: number): string => `${value} s`;
const degrees = (value: number): string => `${value} degrees`;

const gyroNoise = (sd: number): Step =>
  signals(["vehicle_rate"], (signal, { index }) => {
    const random = seededRandom(71 + index);
    const draw = (): number => sd * random.normal();
    return rows(signal, ({ wx, wy, wz }) => ({ wx: wx! + draw(), wy: wy! + draw(), wz: wz! + draw() }));
  });
const turnedBy = (yaw: number) => quaternionOfAngles(0, 0, (yaw * Math.PI) / 180);
const { trajectory } = detectionFlight;
if (trajectory.shape !== "circle") throw new Error("the sizes are those of a circle");
const declaredRadius = (factor: number): Step =>
  declared(() => ({
    trajectories: { orbit: { ...trajectory, radius: factor * trajectory.radius, speed: factor * trajectory.speed } },
  }));

export const sizedFaults: readonly SizedFault[] = [
  {
    check: "frozen",
    fault: "the vehicle's position is frozen within the cycles, its attitude goes on",
    sizes: sized([0.1, 0.3, 0.5], seconds, (held) => frozenPosition(middle, middle + held, everyRun)),
  },
  {
    check: "jump",
    fault: "the vehicle's markers shift sideways within the cycles and stay so",
    sizes: sized([0.005, 0.01, 0.02], millimetres, (by) =>
      poses(
        ({ position, attitude }, time) => ({ position: plus(position, [0, time > middle ? by : 0, 0]), attitude }),
        undefined,
        ["vehicle_pose"],
      ),
    ),
  },
  {
    check: "swap",
    fault: "the capture exchanges the two bodies within the cycles",
    sizes: sized([0.05, 0.2, 1], seconds, (long) => exchanged(middle, middle + long, everyRun)),
  },
  {
    check: "clock-ambiguous",
    fault: "the gyro that joins the clocks is noisy (sd)",
    sizes: sized([0.1, 0.5, 2], (sd) => `${sd} rad/s`, gyroNoise),
  },
  {
    check: "clock-axes-disagree",
    fault: "the gyro that joins the clocks is of another flight",
    sizes: [
      {
        size: "-",
        steps: [
          (setUp) => ({
            ...setUp,
            runs: setUp.runs.map((run) => {
              const other = setUp.runs[(run.index + 3) % setUp.runs.length]!;
              const held = new Map(run.recording.signals);
              held.set("vehicle_rate", other.recording.signals.get("vehicle_rate")!);
              return { ...run, recording: { ...run.recording, signals: held } };
            }),
          }),
        ],
      },
    ],
  },
  {
    check: "clock-step",
    fault: "the capture's clock steps within the cycles",
    sizes: sized([0.005, 0.01, 0.02, 0.03], milliseconds, (by) =>
      stamps(captured, (stamp, time) => stamp + (time > middle ? by : 0)),
    ),
  },
  {
    check: "clock-apart",
    fault: "one clock is assumed and the capture's is late, with a gyro in the log",
    sizes: sized([0.01, 0.015, 0.03], milliseconds, (late) => [
      stamps(captured, (stamp) => stamp - offset + late),
      declared(() => ({ captureClock: "none" })),
    ]),
  },
  {
    check: "bodies-apart",
    fault: "the tool is stamped later than the vehicle",
    sizes: sized([0.005, 0.01, 0.02], milliseconds, (late) => stamps(["effector_pose"], (stamp) => stamp + late)),
  },
  {
    check: "delay-apart",
    fault: "the arm's command is stamped late in one configuration",
    sizes: sized([0.005, 0.01, 0.02, 0.04], milliseconds, (late) =>
      stamps(["effector_command"], (stamp) => stamp + late, candidate),
    ),
  },
  {
    check: "wrong-trajectory",
    fault: "the radius is declared larger than it was flown",
    sizes: sized([1.03, 1.06, 1.2], (factor) => `${Math.round(100 * (factor - 1))} %`, declaredRadius),
  },
  {
    check: "measured-command",
    fault: "the onboard estimate is read as the vehicle's setpoint",
    sizes: [{ size: "-", steps: [takenFor("vehicle_estimate", "vehicle_setpoint")] }],
  },
  {
    check: "uneven-error",
    fault: "the vehicle is knocked aside for 0.3 s within the cycles",
    sizes: sized([0.02, 0.04, 0.08], millimetres, (by) =>
      poses(({ position, attitude }, time) => {
        const bump = by * Math.exp(-0.5 * ((time - middle) / 0.075) ** 2);
        return { position: plus(position, [0, bump, 0]), attitude };
      }),
    ),
  },
  {
    check: "runaway",
    fault: "the vehicle leaves with 4 m/s2 before the last cycle's end",
    sizes: sized([0.8, 1.2, 1.6], seconds, (before) => leaves(end - before, everyRun)),
  },
  {
    check: "noise-apart",
    fault: "the capture of one configuration is noisier (its own noise: 0.2 mm)",
    sizes: sized([0.0001, 0.0002, 0.0005], millimetres, (sd) => noisy(sd, sd, candidate)),
    where: candidate,
  },
  {
    check: "noise-apart",
    fault: "the vehicle's markers shake up and down at 5 Hz in one configuration",
    sizes: sized([0.0005, 0.001, 0.002], millimetres, (by) =>
      poses(
        ({ position, attitude }, time) => ({
          position: plus(position, [0, 0, by * Math.sin(2 * Math.PI * 5 * time)]),
          attitude,
        }),
        candidate,
        ["vehicle_pose"],
      ),
    ),
    where: candidate,
  },
  {
    check: "frame-suspect",
    fault: "the capture is tilted in one configuration",
    sizes: sized([0.5, 1, 3], degrees, (tilt) =>
      poses(turnedAbout(quaternionOfAngles((tilt * Math.PI) / 180, 0, 0), detectionFlight.setpoint), candidate),
    ),
    where: candidate,
  },
  {
    check: "frame-suspect",
    fault: "the vehicle's captured places are stretched about its setpoint in one configuration",
    sizes: sized(
      [1.15, 1.3, 1.5],
      (factor) => `${Math.round(100 * (factor - 1))} %`,
      (factor) =>
        poses(
          ({ position, attitude }) => {
            const home = detectionFlight.setpoint;
            return { position: plus(home, times(factor, plus(position, times(-1, home)))), attitude };
          },
          candidate,
          ["vehicle_pose"],
        ),
    ),
    where: candidate,
  },
  {
    check: "frame-suspect",
    fault: "the capture is turned about the vertical",
    sizes: sized([2, 5, 12], degrees, (yaw) => poses(turnedAbout(turnedBy(yaw), detectionFlight.setpoint))),
  },
  {
    check: "frame-suspect",
    fault: "the capture's origin lies beside where it is declared",
    sizes: sized([0.1, 0.2, 0.4], millimetres, (by) =>
      poses(({ position, attitude }) => ({ position: plus(position, [0, by, 0]), attitude })),
    ),
  },
  {
    check: "shared-rate",
    fault: "the vehicle sways at the rate of the cycles throughout",
    sizes: sized([0.0005, 0.001, 0.002], millimetres, (by) =>
      poses(({ position, attitude }, time) => ({
        position: plus(position, [
          0,
          by * Math.sin((2 * Math.PI * time * trajectory.speed) / (2 * Math.PI * trajectory.radius)),
          0,
        ]),
        attitude,
      })),
    ),
  },
  {
    check: "constant-offset",
    fault: "the tool's marker slipped along y in one configuration",
    sizes: sized([0.006, 0.009, 0.012], millimetres, (by) =>
      poses(redefined([0, 0, 0, 1], [0, by, 0]), candidate, ["effector_pose"]),
    ),
    where: candidate,
  },
];

/** Checks that estimate nothing: they say what stands in log or manifest, and find it always. */
export const notCounted: Readonly<Partial<Record<CheckCode, string>>> = {
  gap: "a time between two messages, compared with a limit",
  "bad-quaternion": "a norm, compared with a limit",
  "stamp-duplicate": "equal stamps are counted",
  "stamp-backward": "stamps are compared with those before",
  "stamp-epoch": "stamps are compared with the times of receipt",
  "stamp-log-used": "missing and zero stamps are counted",
  "missing-signal": "what the manifest names is in the log or not",
  "log-unreadable": "the file can be read or not",
  recovered: "damage shows in the file's own structure",
  "few-cycles": "cycles are counted",
  "no-arrival": "the least distance from the setpoint, compared with a limit",
  "coarse-command": "the rms is calculated under both readings",
  "short-hold": "a length, compared with a limit",
  "low-rate": "poses are counted",
  copied: "samples are compared digit by digit",
  saturated: "motor outputs, compared with their limit",
  sag: "a voltage, compared with a limit",
  "at-noise": "a ratio of two figures that the run shows",
  confounded: "read off the manifest",
  "moment-phase": "of what moves, no error: counted with the campaigns of `tests/comparison`",
  "moment-too-large": "what seems to move, compared with the declared masses",
  "moment-reversed": "intervals of what seems to move with and without counterweights, compared",
  "heading-apart": "mean headings, compared with a limit; a capture knows them to a fraction of a degree",
};
