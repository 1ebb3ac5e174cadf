import { LogError } from "../../src/foundation/errors.ts";
import type { Recording, SignalRequest } from "../../src/foundation/recording.ts";
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
    now: () => new Date("2026-05-04T08:00:00Z"),
    locked: (_, work) => work(),
    writeAtomically: async (path, text) => void written.set(path, text),
    readLog: async (paths: readonly string[], requests: readonly SignalRequest[]): Promise<Recording> => {
      const log = logs[paths[0]!];
      if (log === undefined)
        throw new LogError("log-unreadable", "found no such file, expected a log", { place: paths[0]! });
      const whole =
        "truth" in log ? toRecording(log, { file: paths[0]!, wanted: requests.map(({ signal }) => signal) }) : log;
      const wanted = new Set(requests.map(({ signal }) => signal));
      return { ...whole, signals: new Map([...whole.signals].filter(([name]) => wanted.has(name))) };
    },
  };
}
