import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { loggedTrial } from "./loggedTrial.ts";
import { loggedSlip, slip, type WrongSetUp } from "./setUpTable.ts";
import { type Step, soundFlight } from "./soundCampaign.ts";
import {
  candidate,
  captured,
  declared,
  everySignal,
  onboard,
  secondDay,
  signals,
  stamps,
  type Which,
  written,
} from "./steps.ts";

const { offset } = soundFlight.clock;
const period = (2 * Math.PI * 0.06) / 0.25;

/** Everything on one clock, says the manifest; the capture's stamps are `late` in these runs and true in the others. */
const oneClock = (late: number, where: Which = () => true, names = captured): readonly Step[] => [
  stamps(captured, (stamp) => stamp - offset),
  stamps(names, (stamp) => stamp + late, where),
  declared(() => ({ captureClock: "none" })),
];
/** The offset is declared instead of found. */
const declaredOffset = (value: number): Step =>
  declared(({ flight }) => ({
    captureClock: "known",
    flight: { ...flight, clock: { ...flight.clock, offset: value } },
  }));
const withoutGyro: Step = declared(({ signals = [] }) => ({
  signals: signals.filter((name) => name !== "vehicle_rate"),
}));

export const clockSlips: readonly WrongSetUp[] = [
  ...[30, 100, 350].map((late) =>
    slip(`one clock is assumed, and the capture's is ${late} ms off`, ...oneClock(late / 1000)),
  ),
  slip("one clock is assumed, and the candidate's capture host is 30 ms off", ...oneClock(0.03, candidate)),
  slip("one clock is assumed, and the second day's is 60 ms off", ...oneClock(-0.06, secondDay)),
  slip("one clock is assumed, 40 ms off, and there is no gyro", ...oneClock(0.04), withoutGyro),
  slip(
    "one clock is assumed, the candidate's 40 ms off, and there is no gyro",
    ...oneClock(0.04, candidate),
    withoutGyro,
  ),
  slip("the offset is declared with the wrong sign", declaredOffset(-offset)),
  slip("the offset is declared from another day, 25 ms off", declaredOffset(offset + 0.025)),
  slip(
    "the clock was set between the days and one offset is declared",
    stamps(captured, (stamp) => stamp + 0.02, secondDay),
    declaredOffset(offset),
  ),
  slip("the offset is declared one cycle off, and there is no gyro", declaredOffset(offset + period), withoutGyro),
  slip(
    "the tool is stamped 20 ms later than the vehicle",
    stamps(["effector_pose"], (stamp) => stamp + 0.02),
  ),
  slip(
    "the tool is stamped 12 ms later than the vehicle in the candidate's runs",
    stamps(["effector_pose"], (stamp) => stamp + 0.012, candidate),
  ),
  slip(
    "the times of receipt are taken, and the capture arrives 35 ms late",
    signals(captured, (signal, { index }) => late(signal, 0.035, 0.006, index)),
    declared(() => ({ captureClock: "none" })),
    written(/(\{ topic: [^,} ]+)/g, "$1, stamp: log"),
  ),
  slip(
    "frame numbers are taken at 100 Hz where the capture ran at 99.5",
    stamps(captured, (stamp) => stamp * 0.995),
  ),
  slip(
    "the capture's clock steps by 20 ms in the middle of the cycles",
    stamps(captured, (stamp, seconds) => stamp + (seconds > 13 ? 0.02 : 0)),
  ),
  slip(
    "the capture's clock steps by 30 ms in the candidate's runs",
    stamps(captured, (stamp, seconds) => stamp + (seconds > 12 ? 0.03 : 0), candidate),
  ),
  slip(
    "a filter of 15 ms was set on the candidate's gyro, by which the clocks are joined",
    signals(["vehicle_rate"], (signal) => meanOfLast(signal, 0.03), candidate),
  ),
  slip(
    "the arm's command is stamped 20 ms late in the candidate's runs",
    stamps(["effector_command"], (stamp) => stamp + 0.02, candidate),
  ),
  slip(
    "the arm's command is stamped 20 ms late in the candidate's runs, by a log that knows no receipt",
    stamps(["effector_command"], (stamp) => stamp + 0.02, candidate),
    signals(everySignal, (signal) => ({ ...signal, received: signal.stamped! })),
  ),
  slip(
    "the arm's command is stamped 60 ms late",
    stamps(["effector_command"], (stamp) => stamp + 0.06),
  ),
  slip(
    "the arm's command is stamped 60 ms late in the candidate's runs",
    stamps(["effector_command"], (stamp) => stamp + 0.06, candidate),
  ),
  slip(
    "the arm's command is stamped 40 ms early in the candidate's runs",
    stamps(["effector_command"], (stamp) => stamp - 0.04, candidate),
  ),
  slip(
    "the clock is found from an estimate that is 60 ms old",
    signals(["vehicle_estimate"], (signal) => ({
      ...signal,
      stamped: { ...signal.stamped!, seconds: signal.stamped!.seconds.map((stamp) => stamp + 0.06) },
    })),
    declared(({ signals = [] }) => ({
      captureClock: "estimate",
      signals: [...signals.filter((name) => name !== "vehicle_rate"), "vehicle_estimate"],
    })),
  ),
  slip(
    "all onboard signals but the gyro are stamped by another computer, 50 ms late",
    stamps(
      onboard.filter((name) => name !== "vehicle_rate"),
      (stamp) => stamp + 0.05,
    ),
  ),
  loggedSlip(
    "the setpoint is stamped 40 ms late in the candidate's runs",
    ...loggedTrial,
    stamps(["vehicle_setpoint"], (stamp) => stamp + 0.04, candidate),
  ),
  loggedSlip(
    "one clock is assumed along a logged path, and the candidate's is 30 ms off",
    ...loggedTrial,
    ...oneClock(0.03, candidate),
  ),
  loggedSlip("one clock is assumed along a logged path, and all are 30 ms off", ...loggedTrial, ...oneClock(0.03)),
];

/** Each row the mean of the rows of so many seconds before it: what a filter in the autopilot makes of its gyro. */
function meanOfLast<T extends Parameters<Parameters<typeof signals>[1]>[0]>(signal: T, seconds: number): T {
  const { seconds: t } = signal.received;
  const rate = (t.length - 1) / (t.at(-1)! - t[0]!);
  const count = Math.round(seconds * rate) + 1;
  const columns = Object.fromEntries(
    Object.entries(signal.columns).map(([name, column]) => [
      name,
      column.map((_, i) => {
        const part = column.subarray(Math.max(0, i - count + 1), i + 1);
        return part.reduce((sum, value) => sum + value, 0) / part.length;
      }),
    ]),
  );
  return { ...signal, columns };
}

/** Received later, with a jitter. */
function late<T extends Parameters<Parameters<typeof signals>[1]>[0]>(
  signal: T,
  by: number,
  jitter: number,
  seed: number,
): T {
  const random = seededRandom(seed);
  let latest = Number.NEGATIVE_INFINITY;
  const seconds = signal.received.seconds.map((time) => {
    latest = Math.max(latest + 1e-6, time + by - jitter * Math.log(1 - random.uniform()));
    return latest;
  });
  return { ...signal, received: { ...signal.received, seconds } };
}
