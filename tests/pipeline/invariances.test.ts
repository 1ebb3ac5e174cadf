import { expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { toRecording } from "../support/toRecording.ts";
import { evaluateFlights, shortFlight } from "./shortCampaign.ts";

const recording = toRecording(shortFlight(1));
const evaluated = async (changed: Recording): Promise<RunEvaluation> =>
  (await evaluateFlights({ "a.bag": changed })).runs[0]!;
const changed = (change: (signal: RecordedSignal) => RecordedSignal): Recording => ({
  ...recording,
  signals: new Map([...recording.signals].map(([name, signal]) => [name, change(signal)])),
});

test("another day: every instant a whole number of seconds later changes the epoch, and nothing else", async () => {
  const days = 123n * 86_400_000_000_000n;
  const later = await evaluated(
    changed((signal) => ({
      ...signal,
      received: { ...signal.received, epoch: signal.received.epoch + days },
      stamped: { ...signal.stamped!, epoch: signal.stamped!.epoch + days },
    })),
  );
  const { epoch, ...figures } = await evaluated(recording);
  expect(later).toEqual({ ...figures, epoch: String(BigInt(epoch!) + days) });
});

test("q and -q: signs that change at random from pose to pose leave every figure", async () => {
  const random = seededRandom(20261125);
  const flipped = changed((signal) => {
    if (!("qw" in signal.columns)) return signal;
    const signs = signal.columns.qw!.map(() => (random.uniform() < 0.5 ? -1 : 1));
    const columns = Object.entries(signal.columns).map(([name, column]) => [
      name,
      name.startsWith("q") ? column.map((value, i) => value * signs[i]!) : column,
    ]);
    return { ...signal, columns: Object.fromEntries(columns) as RecordedSignal["columns"] };
  });
  expect(await evaluated(flipped)).toEqual(await evaluated(recording));
});

test("messages that arrive out of order are put in order by their stamps: only the check that says so is new", async () => {
  // each message of the vehicle's pose changes places with the next one
  const swapped = changed((signal) => {
    if (signal.signal !== "vehicle_pose") return signal;
    const swap = (column: Float64Array): Float64Array => column.map((value, i) => column[i ^ 1] ?? value);
    return {
      ...signal,
      stamped: { ...signal.stamped!, seconds: swap(signal.stamped!.seconds) },
      columns: Object.fromEntries(Object.entries(signal.columns).map(([name, column]) => [name, swap(column)])),
    };
  });
  const { checks, ...figures } = await evaluated(swapped);
  const { checks: before, ...same } = await evaluated(recording);
  expect(figures).toEqual(same);
  expect(checks.filter(({ code }) => code !== "stamp-backward")).toEqual(before);
  expect(checks.filter(({ code }) => code === "stamp-backward")).toHaveLength(1);
});
