import type { RecordedSignal, StampColumn } from "../../../src/foundation/recording.ts";
import { flightSettings } from "../../../src/simulation/flightSettings.ts";
import { simulateFlight } from "../../../src/simulation/simulateFlight.ts";
import { groundBetween, loggedTrial } from "./loggedTrial.ts";
import { exchange, loggedSlip, shortSlip, slip, type WrongSetUp } from "./setUpTable.ts";
import { type FiledRun, type SetUp, type Step, soundFlight } from "./soundCampaign.ts";
import { baseline, candidate, captured, recordedOnly, runs, type Which, withSignals, written } from "./steps.ts";

const one =
  (index: number): Which =>
  (run) =>
    run.index === index;
const filedAs = (configuration: string, where: Which): Step =>
  runs((run) => ({ ...run, filed: { ...run.filed, configuration } }), where);
const signalsOf = ({ recording }: FiledRun): RecordedSignal[] => [...recording.signals.values()];
/** The run's log is that of another. */
const logOf = (
  from: (setUp: SetUp) => FiledRun,
  where: Which,
  copy: (signal: RecordedSignal) => RecordedSignal = (s) => s,
): Step => runs((run, setUp) => withSignals(run, signalsOf(from(setUp)).map(copy)), where);

const laterBy =
  (seconds: number) =>
  (signal: RecordedSignal): RecordedSignal => {
    const later = (column: StampColumn): StampColumn => ({
      ...column,
      seconds: column.seconds.map((time) => time + seconds),
    });
    return { ...signal, received: later(signal.received), stamped: signal.stamped && later(signal.stamped) };
  };

/** The log of this run goes on with the flight of another one, 40 s later. */
const goesOn = (from: (run: FiledRun, setUp: SetUp) => FiledRun, where: Which): Step =>
  runs((run, setUp) => {
    const next = new Map(signalsOf(from(run, setUp)).map((signal) => [signal.signal, laterBy(40)(signal)]));
    return withSignals(
      run,
      signalsOf(run).map((signal) => joined(signal, next.get(signal.signal)!)),
    );
  }, where);

function joined(first: RecordedSignal, second: RecordedSignal): RecordedSignal {
  const both = (a: Float64Array, b: Float64Array): Float64Array => Float64Array.from([...a, ...b]);
  const stamps = (a: StampColumn, b: StampColumn): StampColumn => ({ ...a, seconds: both(a.seconds, b.seconds) });
  return {
    ...first,
    received: stamps(first.received, second.received),
    stamped: stamps(first.stamped!, second.stamped!),
    columns: Object.fromEntries(
      Object.entries(first.columns).map(([name, column]) => [name, both(column, second.columns[name]!)]),
    ),
  };
}

/** Each run's onboard log is that of the run `by` places later. */
const onboardOf = (by: number, where: Which): Step =>
  runs((run, setUp) => {
    const other = setUp.runs[(run.index + by) % setUp.runs.length]!;
    const isCapture = ({ signal }: RecordedSignal): boolean => captured.includes(signal);
    return withSignals(run, [...signalsOf(run).filter(isCapture), ...signalsOf(other).filter((s) => !isCapture(s))]);
  }, where);

const baselineOf =
  (index: number) =>
  ({ runs }: SetUp): FiledRun =>
    runs[index]!;

export const fileSlips: readonly WrongSetUp[] = [
  loggedSlip("the baseline's logs start on the ground", ...loggedTrial, runs(groundBetween(0.6, 1.9), baseline)),
  loggedSlip("the candidate's logs start on the ground", ...loggedTrial, runs(groundBetween(0.6, 1.9), candidate)),
  loggedSlip(
    "all logs start on the ground, some later than others",
    ...loggedTrial,
    runs((run) => groundBetween(0.3 * run.index, 1.3 + 0.3 * run.index)(run)),
  ),
  loggedSlip("the candidate's logs end with the landing", ...loggedTrial, runs(groundBetween(18.9, 17.6), candidate)),
  loggedSlip("one run of the baseline never takes off", ...loggedTrial, runs(groundBetween(30, 31), one(3))),
  shortSlip("logged to 12 s", "the candidate's recordings end early", ...loggedTrial, recordedOnly(0, 12, candidate)),
  shortSlip(
    "logged from 6 s",
    "the baseline's recorders were started late",
    ...loggedTrial,
    recordedOnly(6, 99, baseline),
  ),
  slip("the candidate's recordings end in the third cycle", recordedOnly(0, 12.7, candidate)),
  slip("the baseline's recordings end in the last cycle", recordedOnly(0, 17.5, baseline)),
  slip("the baseline's recorders were started in the third cycle", recordedOnly(12.4, 99, baseline)),
  slip("one recorder was started in the second cycle", recordedOnly(11, 99, one(2))),
  slip("a span cuts the candidate's cycles", written(/(log: run-[2358].bag,[^}]*)\}/g, "$1, span: [0 s, 13 s] }")),
  slip(
    "the candidate's logs hold two flights, and none has a span",
    goesOn((run, { runs }) => runs[(run.index + 1) % 8]!, candidate),
  ),
  slip(
    "a log holds two flights, and the span is of the other one",
    goesOn((_, { runs }) => runs[0]!, one(1)),
    written(/(log: run-2.bag,[^}]*)\}/, "$1, span: [40 s, 61 s] }"),
  ),
  exchange("one run is filed under the other configuration", filedAs("weighted", one(0))),
  exchange("the labels of two runs are exchanged", filedAs("weighted", one(0)), filedAs("bare", one(1))),
  exchange("the labels of all runs are exchanged", filedAs("weighted", baseline), filedAs("bare", candidate)),
  exchange(
    "the labels of four runs are exchanged",
    filedAs("weighted", (run) => run.index === 0 || run.index === 5),
    filedAs("bare", (run) => run.index === 1 || run.index === 4),
  ),
  exchange(
    "all labels of the second day are exchanged",
    filedAs("weighted", (run) => run.day === 2 && run.flown === "bare"),
    filedAs("bare", (run) => run.day === 2 && run.flown === "weighted"),
  ),
  slip("a log of the baseline also stands among the candidate's", logOf(baselineOf(0), one(1))),
  slip(
    "two of the candidate's runs are copies of the others",
    logOf(baselineOf(1), one(2)),
    logOf(baselineOf(4), one(7)),
  ),
  slip(
    "two of the candidate's runs are copies with stamps of their own",
    logOf(baselineOf(1), one(2), laterBy(600)),
    logOf(baselineOf(4), one(7), laterBy(600)),
  ),
  slip(
    "each capture stands beside the onboard log of the next flight",
    onboardOf(1, () => true),
  ),
  slip("the candidate's captures stand beside the onboard logs of other flights", onboardOf(2, candidate)),
  slip(
    "a straight reach is filed as the orbit",
    another({ shape: "line", axis: "x", stroke: 0.15, period: 1.5, cycles: 6, rampIn: 0 }, (run) => run.index < 2),
  ),
  slip(
    "the candidate flew a smaller orbit",
    another({ shape: "circle", plane: "yz", radius: 0.045, speed: 0.1875, cycles: 6, rampIn: 0 }, candidate),
  ),
  slip(
    "the candidate flew a slower orbit",
    another({ shape: "circle", plane: "yz", radius: 0.06, speed: 0.2, cycles: 5, rampIn: 0 }, candidate),
  ),
];

/** These runs flew another trajectory than the one they are filed under. */
function another(trajectory: typeof soundFlight.trajectory, where: Which): Step {
  return runs((run) => {
    const flight = simulateFlight(flightSettings({ trajectory }, soundFlight), 77_000 + run.index);
    return withSignals(run, flight.signals);
  }, where);
}
