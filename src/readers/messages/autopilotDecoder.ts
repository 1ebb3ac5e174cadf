import type { SignalName } from "../../foundation/tracks.ts";
import { signalsOfTopic, type TopicSignal, topicSignal } from "../autopilot/topicSignals.ts";
import { fieldsDecoder, hasField } from "./fieldsDecoder.ts";
import type { LogConnection } from "./LogPart.ts";
import type { DecoderFault, MessageDecoder } from "./MessageDecoder.ts";
import { SignalTable } from "./SignalTable.ts";
import type { Wire } from "./Wire.ts";

/**
 * Decodes a px4_msgs message for a signal by its definition, whatever the version: fields are found by their names.
 *
 * Stamps: timestamp_sample where it is there and not zero, else timestamp, in microseconds.
 */
export function autopilotDecoder(
  connection: LogConnection,
  wire: Wire,
  { fields, masked, unknown }: TopicSignal,
): MessageDecoder | DecoderFault {
  const paths: Record<string, string> = {};
  for (const [name, candidates] of Object.entries(fields)) {
    const path = candidates.find((each) => hasField(connection, each));
    if (path !== undefined) paths[name.replace("?", "")] = path;
    // the decoder says what there is instead
    else if (!name.endsWith("?")) paths[name] = candidates[0]!;
  }
  const columns = Object.keys(paths);
  const stamps = ["timestamp", "timestamp_sample"].filter((each) => hasField(connection, each));
  const inner = fieldsDecoder(connection, wire, {
    ...paths,
    ...Object.fromEntries(stamps.map((each) => [each, each])),
  });
  if (!("decode" in inner)) return inner;
  // one message at a time: its own table is emptied before each
  const one = new SignalTable(inner.columns, { capacity: 1, stamped: inner.stamped });
  const unknowns = columns.map((name) => unknown[name] ?? null);
  return {
    columns,
    stamped: stamps.length > 0,
    ...(masked ? { maskable: columns } : {}),
    decode(view, at, end, table) {
      one.rows = 0;
      if (!inner.decode(view, at, end, one)) return false;
      const micros = (k: number): number => one.columns[columns.length + k]?.[0] ?? 0;
      const stamp = stamps.length > 1 && micros(1) !== 0 ? micros(1) : micros(0);
      const sec = Math.floor(stamp / 1e6);
      const row = table.addRow(sec, (stamp - sec * 1e6) * 1000);
      for (let k = 0; k < columns.length; k++) {
        const value = one.columns[k]![0]!;
        const known = unknowns[k] === null || !unknowns[k]!(value);
        table.columns[k]![row] = known ? value : Number.NaN;
        const mask = table.masks[k];
        if (mask) mask[row] = Number.isNaN(value) ? 0 : 1;
      }
      return true;
    },
    fault: (rows) => inner.fault?.(rows) ?? null,
  };
}

/** The topic that a px4_msgs type is named after: px4_msgs/msg/VehicleOdometry -> vehicle_odometry; null for other types. */
export function autopilotTopic(type: string): string | null {
  const found = /^px4_msgs\/(?:msg\/)?([A-Z]\w*)$/.exec(type);
  // V2 and the like: later versions of one message
  const name = found?.[1]?.replace(/V\d+$/, "");
  return name === undefined ? null : name.replace(/(?<=[a-z0-9])([A-Z])/g, "_$1").toLowerCase();
}

/** How a px4_msgs type serves a signal; null where it cannot. */
export function autopilotSignal(signal: SignalName, type: string): TopicSignal | null {
  const topic = autopilotTopic(type);
  return topic === null ? null : topicSignal(signal, topic);
}

/** Signals a px4_msgs type could serve as, best guess first. */
export function signalsOfAutopilotType(type: string): SignalName[] {
  const topic = autopilotTopic(type);
  return topic === null ? [] : signalsOfTopic(topic);
}
