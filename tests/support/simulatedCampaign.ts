import { LogError } from "../../src/foundation/errors.ts";
import type { RecordedSignal, Recording, StampColumn } from "../../src/foundation/recording.ts";
import type { Nanoseconds } from "../../src/foundation/units.ts";
import type { Effects } from "../../src/pipeline/effects.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { toRecording } from "./toRecording.ts";

/** A campaign that lives in memory: the manifest's text and one simulated flight (or recording) per log. */
export function memoryEffects(
  manifest: string,
  logs: Readonly<Record<string, SimulatedFlight | Recording>>,
  written: Map<string, string> = new Map(),
): Effects {
  return {
    readText: async (path) => {
      if (path !== "campaign.yaml") throw new Error(`no such file: ${path}`);
      return manifest;
    },
    size: async (path) => (path === "campaign.yaml" ? manifest.length : path in logs ? 1 : null),
    sha256: async (path) => path.padEnd(64, "0").slice(0, 64),
    filesOf: async (path) => [path],
    stamp: async () => "",
    now: () => new Date("2026-05-04T08:00:00Z"),
    locked: (_, work) => work(),
    writeAtomically: async (path, text) => void written.set(path, text),
    readLog: async (paths, requests, { span = null } = {}): Promise<Recording> => {
      const log = logs[paths[0]!];
      if (log === undefined)
        throw new LogError("log-unreadable", "found no such file, expected a log", { place: paths[0]! });
      const wanted = requests.map(({ signal }) => signal);
      const whole = "truth" in log ? toRecording(log, { file: paths[0]! }) : log;
      const asked = [...whole.signals.values()].filter(({ signal }) => wanted.includes(signal));
      const part =
        span === null || whole.start === null ? asked : asked.map((signal) => within(signal, whole.start!, span));
      const { signals, missing } = toRecording({ signals: part }, { file: paths[0]!, wanted });
      return { ...whole, signals, missing };
    },
  };
}

/** The messages of a signal that were received in a span of seconds after `start`, its end left out. */
function within(signal: RecordedSignal, start: Nanoseconds, [from, to]: readonly [number, number]): RecordedSignal {
  const offset = Number(signal.received.epoch - start) / 1e9;
  return keepMessages(signal, (i) => {
    const seconds = offset + signal.received.seconds[i]!;
    return seconds >= from && seconds < to;
  });
}

/** The signal with only the messages that are wanted, by index. */
export function keepMessages(signal: RecordedSignal, wanted: (index: number) => boolean): RecordedSignal {
  const pick = (column: Float64Array): Float64Array => column.filter((_, i) => wanted(i));
  const stamps = (column: StampColumn): StampColumn => ({ ...column, seconds: pick(column.seconds) });
  return {
    ...signal,
    received: stamps(signal.received),
    stamped: signal.stamped && stamps(signal.stamped),
    columns: Object.fromEntries(Object.entries(signal.columns).map(([name, column]) => [name, pick(column)])),
  };
}
