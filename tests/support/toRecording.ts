import type { MissingSignal, RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import type { Nanoseconds } from "../../src/foundation/units.ts";

/**
 * The signals as a reader would hand them over, so that a test needs no file.
 *
 * @param wanted signals that were asked for; those without messages are listed as missing
 */
export function toRecording(
  flight: { readonly signals: readonly RecordedSignal[] },
  options: { readonly file?: string; readonly wanted?: readonly SignalName[] } = {},
): Recording {
  const full = flight.signals.filter((signal) => signal.received.seconds.length > 0);
  const edges = full.map(({ received }) => ({
    first: instant(received.epoch, received.seconds[0]!),
    last: instant(received.epoch, received.seconds.at(-1)!),
  }));
  const file = options.file ?? "simulated";
  const missing = (options.wanted ?? [])
    .filter((name) => !full.some((signal) => signal.signal === name))
    .map((signal): MissingSignal => {
      const empty = flight.signals.find((other) => other.signal === signal);
      return {
        signal,
        topic: empty?.topic ?? "",
        reason: empty ? "empty" : "absent",
        message: `no message of ${signal} in ${file}`,
        hint: "the simulation was told to leave it out",
      };
    });
  return {
    files: [file],
    format: "simulation",
    signals: new Map(full.map((signal) => [signal.signal, signal])),
    missing,
    start: edges.reduce<Nanoseconds | null>((a, { first }) => (a === null || first < a ? first : a), null),
    end: edges.reduce<Nanoseconds | null>((a, { last }) => (a === null || last > a ? last : a), null),
    recovered: null,
  };
}

function instant(epoch: Nanoseconds, seconds: number): Nanoseconds {
  return epoch + BigInt(Math.round(seconds * 1e9));
}
