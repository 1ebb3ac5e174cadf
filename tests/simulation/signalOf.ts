import type { RecordedSignal } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";

/** The signal of that name, which must be there. */
export function signalOf(flight: { readonly signals: readonly RecordedSignal[] }, name: SignalName): RecordedSignal {
  const signal = flight.signals.find((other) => other.signal === name);
  if (!signal) throw new Error(`the flight has no ${name}`);
  return signal;
}
