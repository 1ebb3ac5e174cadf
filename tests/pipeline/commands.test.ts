import { expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { axes } from "../../src/foundation/signals.ts";
import { toRecording } from "../../src/simulation/toRecording.ts";
import { evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

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

test("a setpoint that comes every 0.5 s, or once, holds until the next; that was chosen and is told", async () => {
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
