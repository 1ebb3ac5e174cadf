import type { RecordedSignal, StampColumn } from "../../src/foundation/recording.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { type BagMessage, f64s, header } from "../support/writeBag.ts";

/** How each type of the simulation is written; sums as in ROS Noetic (see src/readers/messages/signalTypes.ts). */
const types: Readonly<Record<string, { md5: string; body: (row: readonly number[]) => Uint8Array }>> = {
  "geometry_msgs/PoseStamped": { md5: "d3812c3cbc69362b77dc0b19b345f8f5", body: (row) => f64s(...row) },
  "geometry_msgs/PointStamped": { md5: "c63aecb41bfdfd6b7e1fac37c7cbe7bf", body: (row) => f64s(...row) },
  "sensor_msgs/Imu": {
    md5: "6a62c6daae103f4ff57a132d6f95cec2",
    // orientation and its covariance are not given (covariance -1), then rate, covariance, acceleration, covariance
    body: (row) => f64s(0, 0, 0, 1, -1, ...Array<number>(8).fill(0), ...row, ...Array<number>(21).fill(0)),
  },
};

/** A simulated flight's poses, commands and rates as messages, in order of receipt. */
export function flightMessages(flight: SimulatedFlight): BagMessage[] {
  return flight.signals
    .filter(({ type }) => types[type] !== undefined)
    .flatMap(signalMessages)
    .sort((a, b) => a.received[0] - b.received[0] || a.received[1] - b.received[1]);
}

function signalMessages(signal: RecordedSignal): BagMessage[] {
  const { md5, body } = types[signal.type]!;
  const columns = Object.values(signal.columns);
  return Array.from(signal.received.seconds, (_, i) => ({
    topic: signal.topic,
    type: signal.type,
    md5,
    received: instant(signal.received, i),
    data: Buffer.concat([
      header(instant(signal.stamped!, i), signal.frameId, i),
      body(columns.map((column) => column[i]!)),
    ]),
  }));
}

/** Seconds and nanoseconds; a zero stamp (NaN) is 0, 0. */
function instant({ epoch, seconds }: StampColumn, index: number): [number, number] {
  if (Number.isNaN(seconds[index]!)) return [0, 0];
  const nanoseconds = epoch + BigInt(Math.round(seconds[index]! * 1e9));
  return [Number(nanoseconds / 1_000_000_000n), Number(nanoseconds % 1_000_000_000n)];
}
