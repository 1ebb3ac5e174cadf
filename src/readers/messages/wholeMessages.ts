import { parse } from "@foxglove/rosmsg";
import { MessageReader } from "@foxglove/rosmsg-serialization";
import { MessageReader as CdrMessageReader } from "@foxglove/rosmsg2-serialization";
import { startsWithHeader } from "./definition.ts";
import type { LogConnection } from "./LogPart.ts";
import type { SignalTable } from "./SignalTable.ts";
import type { Wire } from "./Wire.ts";

type Definitions = ReturnType<typeof parse>;
export type Definition = Definitions[number];

/** What a log says of a type; `none`: no ROS definition, `unreadable`: one that is damaged. */
export function definitionsOf({
  definition,
  definitionFormat,
  encoding,
}: LogConnection): Definitions | "none" | "unreadable" {
  if (definitionFormat !== "msg" || definition.trim() === "" || (encoding !== "ros1" && encoding !== "cdr"))
    return "none";
  try {
    return parse(definition, { ros2: encoding === "cdr" });
  } catch {
    return "unreadable";
  }
}

/** The type itself among its definitions; the others are of its parts. */
export function rootOf(definitions: Definitions): Definition | undefined {
  return definitions.find(({ name }) => name === undefined) ?? definitions[0];
}

/** Messages of one type, read whole. */
export interface WholeMessages {
  /** whether they begin with a header */
  readonly stamped: boolean;
  /** The message as an object; null where it is damaged. */
  readonly read: (view: DataView, at: number, end: number) => unknown;
  /** Begins its row, with its stamp where it has one. @returns the row's number; -1 where the header is damaged */
  readonly addRow: (view: DataView, at: number, end: number, table: SignalTable) => number;
}

/** Reads messages by their definition, each becoming an object: slower by ten than a decoder that knows its type. */
export function wholeMessages(connection: LogConnection, definitions: Definitions, wire: Wire): WholeMessages {
  const read = messageReaderOf(definitions, wire);
  const stamped = startsWithHeader(connection.definition);
  return {
    stamped,
    read: (view, at, end) => {
      try {
        return read(new Uint8Array(view.buffer, view.byteOffset + at, end - at));
      } catch {
        return null;
      }
    },
    addRow: (view, at, end, table) => {
      if (!stamped) return table.addRow(0, 0);
      return wire.skipHeader(view, wire.begin(view, at, end), end, table) < 0 ? -1 : table.addRow(wire.sec, wire.nsec);
    },
  };
}

/** The library's reader of one encoding; null for a message that says it is longer than it is. */
function messageReaderOf(definitions: Definitions, wire: Wire): (bytes: Uint8Array) => unknown {
  if (wire.encoding === "ros1") {
    const reader = new MessageReader(definitions);
    return (bytes) => reader.readMessage(bytes);
  }
  const reader = new CdrMessageReader(definitions, { timeType: "sec,nsec" });
  return (bytes) => {
    const { buffer, byteOffset, length } = bytes;
    // It looks at numbers in place where they happen to be aligned, and then does not see the message's end.
    if (wire.begin(new DataView(buffer, byteOffset, length), 0, length) < 0) return null;
    const message: unknown = reader.readMessage(bytes);
    return reader.lastReadByteLength() > length ? null : message;
  };
}
