import { describe, expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, glance, shortFlight, shortManifest } from "./shortCampaign.ts";
import { loggedTrial } from "./wrongSetUps/loggedTrial.ts";
import { evaluateSetUp } from "./wrongSetUps/outcome.ts";
import { soundCampaign } from "./wrongSetUps/soundCampaign.ts";
import { keep, signals, written } from "./wrongSetUps/steps.ts";

const flight = shortFlight(1);
const recording = toRecording(flight);
function withSetpoint(change: (setpoint: RecordedSignal) => RecordedSignal): Recording {
  const signals = new Map(recording.signals);
  return { ...recording, signals: signals.set("vehicle_setpoint", change(signals.get("vehicle_setpoint")!)) };
}
const rows = (signal: RecordedSignal, kept: readonly number[]): RecordedSignal => {
  const pick = (column: Float64Array): Float64Array => Float64Array.from(kept, (i) => column[i]!);
  return {
    ...signal,
    received: { ...signal.received, seconds: pick(signal.received.seconds) },
    stamped: { ...signal.stamped!, seconds: pick(signal.stamped!.seconds) },
    columns: Object.fromEntries(Object.entries(signal.columns).map(([name, column]) => [name, pick(column)])),
  };
};
const rmsOf = (run: RunEvaluation): number[] => axes.map((axis) => run.tracking.cycles!.vehicle![axis].rms);

test("a setpoint that comes every 0.5 s, or once, holds until the next; that was chosen and is reported", async () => {
  const { runs, settings } = await evaluateFlights({
    "often.bag": recording,
    "seldom.bag": withSetpoint((signal) =>
      rows(
        signal,
        [...signal.received.seconds.keys()].filter((i) => i % 25 === 0),
      ),
    ),
    "once.bag": withSetpoint((signal) => rows(signal, [0])),
  });
  expect(settings.signals.vehicle_setpoint!.between).toBe("linear (often); hold (seldom, once)");
  const [often, seldom, once] = runs;
  // the vehicle was told to stay where it is: the same error whatever the rate
  expect(rmsOf(seldom!)).toEqual(rmsOf(often!));
  expect(rmsOf(once!)).toEqual(rmsOf(often!));
});

test("a step of the setpoint between two messages is held, or drawn as a line, as declared: half an interval of the step", async () => {
  // at 50 Hz the setpoint moves 100 mm along x at one message, inside the cycles
  const at = 13;
  const stepped = withSetpoint((signal) => ({
    ...signal,
    columns: {
      ...signal.columns,
      x: signal.columns.x!.map((value, i) => value + (signal.stamped!.seconds[i]! >= at ? 0.1 : 0)),
    },
  }));
  const manifest = shortManifest(["a.bag"]);
  const declared = async (between: string): Promise<RunEvaluation> => {
    const text = manifest.replace("topic: /onboard/hold_point,", `topic: /onboard/hold_point, between: ${between},`);
    return (await evaluateFlights({ "a.bag": stepped }, text)).runs[0]!;
  };
  const [hold, linear] = [await declared("hold"), await declared("linear")];
  const bias = (run: RunEvaluation): number => run.tracking.cycles!.vehicle!.x.bias;
  // the line reaches the step on average 10 ms sooner: -100 mm over 10 ms of 9.048 s; samples every 10 ms, so one of them
  // more or less either way
  const period = flight.truth.period * flight.truth.cycles;
  expect(Math.abs(bias(hold) - bias(linear) - (0.1 * 0.01) / period)).toBeLessThan((0.1 * 0.01) / period);
  expect(bias(hold)).toBeGreaterThan(bias(linear));
});

test("a setpoint on a smooth path that is said to hold at 10 Hz is doubted where that moves the rms; said to move on it is not", async () => {
  const judged = async (between: string) => {
    const said = [
      ...loggedTrial,
      signals(["vehicle_setpoint"], (signal) => keep(signal, (_, i) => i % 5 === 0)),
      written(/(vehicle_setpoint: \{[^}]*)\}/, `$1, between: ${between} }`),
    ];
    const found = await evaluateSetUp(said.reduce((setUp, step) => step(setUp), soundCampaign(5, "known")));
    if (typeof found === "string") throw new Error(found);
    return found;
  };
  const held = await judged("hold");
  for (const run of held.runs) {
    const [check] = checksOf(run, "coarse-command");
    expect(check).toMatchObject({ severity: "doubt", evidence: { taken: "hold", other: "linear" } });
    // along x the setpoint moves by up to 0.45 m/s: held for 0.1 s it is 0.45 * 0.1 / sqrt(3) / sqrt(2) = 18 mm off (rms)
    expect(check!.evidence.rms_m).toBeGreaterThan(0.01);
    expect(check!.evidence.rms_otherwise_m).toBeLessThan(0.005);
  }
  for (const { in_family, verdict } of held.cells) if (in_family) expect(verdict).toBe("doubted");
  for (const run of (await judged("linear")).runs) expect(checksOf(run, "coarse-command")).toEqual([]);
});

test("a stream of setpoints that stops commands nothing more: what follows is not scored against the last", async () => {
  // setpoints until 13 s, then a pilot takes over; the cycles run from 9 to 18 s
  const { runs } = await evaluateFlights({
    "stopped.bag": withSetpoint((signal) =>
      rows(
        signal,
        [...signal.received.seconds.keys()].filter((i) => signal.received.seconds[i]! < 13),
      ),
    ),
  });
  const [stopped] = runs;
  // 5 of 9.05 s are missing: more than a tenth
  expect(stopped!.valid_fraction.vehicle).toBeLessThan(0.5);
  expect(stopped!.used).toBe(false);
});

describe("a command of the arm that comes three times a second", () => {
  // twelve commands in 9 s of cycles of 1.51 s each, then 2 s of rest, which the vehicle spends hovering
  const seldom = (): Recording => {
    const signals = new Map(recording.signals);
    const command = signals.get("effector_command")!;
    const kept = [...command.received.seconds.keys()].filter((i) => i % 16 === 0);
    return { ...recording, signals: signals.set("effector_command", rows(command, kept)) };
  };
  const period = (2 * Math.PI * 0.06) / 0.25;

  test("repeats with its period all the same, and ends where its motion ends", async () => {
    const manifest = shortManifest(["a.bag"]).replace(/orbit: \{.*\}/, `orbit: { shape: logged, period: ${period} s }`);
    for (const text of [manifest, shortManifest(["a.bag"])]) {
      const { runs, settings } = await evaluateFlights({ "a.bag": seldom() }, text);
      // where no shape is declared the messages look like a curve's
      const declared = text === manifest ? "linear" : "as the declared shape";
      expect(settings.signals.effector_command!.between).toBe(declared);
      const { cycles } = runs[0]!.windows;
      // six cycles were flown; where the last begins or ends between two messages it may not count
      expect(cycles.length).toBeGreaterThanOrEqual(5);
      expect(cycles.length).toBeLessThanOrEqual(6);
      expect(cycles.at(-1)![1]).toBeLessThan(flight.truth.cycleStart + 6 * period + 0.35);
      expect(glance(runs[0]!).filter((word) => word.endsWith("unusable"))).toEqual([]);
    }
  });
});

test("a logged trajectory is not scored over what the vehicle does where the arm's command is lost", async () => {
  const signals = new Map(recording.signals);
  signals.delete("effector_command");
  // the vehicle is told to land at the end
  const setpoint = signals.get("vehicle_setpoint")!;
  const z = setpoint.columns.z!.map((value, i) => value - Math.max(0, setpoint.received.seconds[i]! - 19));
  signals.set("vehicle_setpoint", { ...setpoint, columns: { ...setpoint.columns, z } });
  const lost = {
    ...recording,
    signals,
    missing: [
      {
        signal: "effector_command",
        topic: "/arm/goal",
        reason: "absent",
        message: "found no topic /arm/goal",
        hint: "record it",
      },
    ],
  } as const;
  const manifest = shortManifest(["a.bag"]).replace(/orbit: \{.*\}/, "orbit: { shape: logged, period: 0.4 s }");
  const { runs } = await evaluateFlights({ "a.bag": lost }, manifest);
  expect(runs[0]!.windows.cycles).toEqual([]);
  expect(runs[0]!.used).toBe(false);
  expect(checksOf(runs[0]!, "few-cycles")).toMatchObject([
    {
      severity: "unusable",
      message: expect.stringContaining("the effector command (or arm_phase) that shows them is not in the log"),
    },
  ]);
});

test("a setpoint that reads 0 0 0 for a second is no command, though the flight began there", async () => {
  const spoilt = withSetpoint((signal) => ({
    ...signal,
    columns: Object.fromEntries(
      Object.entries(signal.columns).map(([name, column]) => [
        name,
        column.map((value, i) => {
          const at = signal.received.seconds[i]!;
          if (!"xyz".includes(name)) return value;
          // from the floor up to where it hovers in the first two seconds
          return at >= 13 && at < 14 ? 0 : value * Math.min(1, at / 2);
        }),
      ]),
    ),
  }));
  const { runs } = await evaluateFlights({ "a.bag": spoilt });
  expect(rmsOf(runs[0]!).every((rms) => rms < 0.1)).toBe(true);
  expect(glance(runs[0]!).filter((word) => word.endsWith("doubt")).length).toBeGreaterThan(0);
});

test("commands of the arm stamped an hour off have no instant in common with the poses, and that is said", async () => {
  const signals = new Map(recording.signals);
  const command = signals.get("effector_command")!;
  const hour = 3600n * 1_000_000_000n;
  signals.set("effector_command", {
    ...command,
    stamped: { ...command.stamped!, epoch: command.stamped!.epoch + hour },
  });
  const { runs } = await evaluateFlights({ "a.bag": { ...recording, signals } });
  expect(runs[0]!.used).toBe(false);
  expect(checksOf(runs[0]!, "stamp-epoch").filter(({ severity }) => severity === "unusable")).toMatchObject([
    { message: expect.stringContaining("poses and commands of the effector have no instant in common") },
  ]);
});

test("commands of the arm without a position are none, and that is said", async () => {
  const signals = new Map(recording.signals);
  const command = signals.get("effector_command")!;
  const blank = Object.fromEntries(
    Object.entries(command.columns).map(([name, column]) => [name, column.map(() => Number.NaN)]),
  );
  signals.set("effector_command", { ...command, columns: blank });
  const manifest = shortManifest(["a.bag"]).replace(/orbit: \{.*\}/, "orbit: { shape: logged, period: 1.5 s }");
  const { runs } = await evaluateFlights({ "a.bag": { ...recording, signals } }, manifest);
  expect(runs[0]!.used).toBe(false);
  expect(runs[0]!.windows.cycles).toEqual([]);
  expect(checksOf(runs[0]!, "missing-signal")).toMatchObject([
    {
      severity: "doubt",
      message: expect.stringMatching(/^none of the [1-9]\d* commands of the effector holds a position/),
    },
  ]);
  expect(checksOf(runs[0]!, "stamp-epoch")).toEqual([]);
});

describe("a command of the arm that comes 4 times a second, on a circle of 1.5 s", () => {
  const at = (commandRate: number, more: object = {}) => shortFlight(3, { commandRate, ...more });

  test("is scored against the circle, not against steps: rms and synchronous error are those at 50 Hz", async () => {
    const logs = { "often.bag": at(50), "slow.bag": at(4) };
    const { runs, settings } = await evaluateFlights(logs);
    const [often, slow] = runs;
    expect(settings.signals.effector_command!.between).toBe("linear (often); as the declared shape (slow)");
    for (const axis of axes) {
      const [fast, coarse] = [often!, slow!].map(({ tracking }) => tracking.cycles!.effector![axis].rms);
      // the same flight, noise included: what is left is a start of the cycles that differs by a millisecond or two (held, it
      // would be some 20 mm on y and z)
      expect(Math.abs(coarse! - fast!)).toBeLessThan(5e-4);
      const [true_, found] = [often!, slow!].map(({ synchronous }) => synchronous!.effector![axis].rms);
      expect(Math.abs(found! - true_!)).toBeLessThan(5e-4);
    }
    expect(checksOf(often!, "coarse-command")).toEqual([]);
    // said with what holding would make of it, but no doubt: the declared shape tells
    expect(checksOf(slow!, "coarse-command")).toMatchObject([
      { severity: "note", evidence: { signal: "effector_command", taken: "shape", other: "hold" } },
    ]);
    const { rms_m, rms_otherwise_m } = checksOf(slow!, "coarse-command")[0]!.evidence as Record<string, number>;
    expect(Math.abs(rms_otherwise_m! - rms_m!)).toBeGreaterThan(0.005);
  });

  test("with no declared shape is read as it looks, and doubted with what the other reading would make of it", async () => {
    const period = (2 * Math.PI * 0.06) / 0.25;
    const manifest = shortManifest(["a.bag"]).replace(/orbit: \{.*\}/, `orbit: { shape: logged, period: ${period} s }`);
    const { runs, settings } = await evaluateFlights({ "a.bag": at(4) }, manifest);
    expect(settings.signals.effector_command!.between).toBe("linear");
    expect(checksOf(runs[0]!, "coarse-command")).toMatchObject([
      { severity: "doubt", evidence: { taken: "linear", other: "hold" }, touches: { subjects: ["effector", "arm"] } },
    ]);
    // where the manifest says it, there is no doubt
    const said = manifest.replace("topic: /arm/goal,", "topic: /arm/goal, between: linear,");
    expect(checksOf((await evaluateFlights({ "a.bag": at(4) }, said)).runs[0]!, "coarse-command")).toEqual([]);
  });

  test("at 5 Hz is read alike whichever side of 5 Hz its stamps fall", async () => {
    const logs = { "under.bag": at(4.99), "over.bag": at(5.01) };
    for (const shape of ["", "{ shape: logged, period: 1.508 s }"]) {
      const plain = shortManifest(Object.keys(logs));
      const manifest = shape === "" ? plain : plain.replace(/orbit: \{.*\}/, `orbit: ${shape}`);
      const { settings } = await evaluateFlights(logs, manifest);
      expect(settings.signals.effector_command!.between).toBe(shape === "" ? "as the declared shape" : "linear");
    }
  });
});
