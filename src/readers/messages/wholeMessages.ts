import { parse } from "@foxglove/rosmsg";
import { MessageReader } from "@foxglove/rosmsg-serialization";
import { MessageReader as CdrMessageReader } from "@foxglove/rosmsg2-serialization";
import { LogError } from "../../foundation/errors.ts";
import { sizeFault } from "./codecs.ts";
import { startsWithHeader } from "./definition.ts";
import type { LogConnection, LogPart, MessageTarget } from "./LogPart.ts";
import type { SignalTable } from "./SignalTable.ts";
import type { Wire } from "./Wire.ts";
import { type Unzstd, zstd } from "./zstd.ts";
import { startsZstd, zstdFrames } from "./zstdFrames.ts";

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

/** A part whose recorder packed each message by itself; they are unpacked before they are handed on, one at a time. */
export function packedMessages(part: LogPart): LogPart {
  // unpacked, a message no longer lies behind its time of publication
  const { publication: _, ...rest } = part;
  return {
    ...rest,
    compression: () => ["zstd (messages)"],
    readMessages: async (targets, wanted) => {
      const unzstd = await zstd();
      let lost = 0;
      const unpacking = new Map<number, MessageTarget>();
      for (const [id, target] of targets)
        unpacking.set(id, (first, second, view, at, end) => {
          const bytes = new Uint8Array(view.buffer, view.byteOffset + at, end - at);
          // one that was left as it is
          if (bytes[0] === cdrStart) return target(first, second, view, at, end);
          const content = unpacked(bytes, unzstd);
          if (content === null) lost++;
          else
            target(first, second, new DataView(content.buffer, content.byteOffset, content.length), 0, content.length);
        });
      const notes = await part.readMessages(unpacking, wanted);
      return lost > 0 ? [...notes, `${lost} message(s) cannot be unpacked`] : notes;
    },
  };
}

/** The first byte of every CDR message. @source DDS-RTPS 2.3, section 10.2.1.2: representation identifiers */
const cdrStart = 0;

function unpacked(bytes: Uint8Array, unzstd: Unzstd): Uint8Array | null {
  try {
    let size = 0;
    for (const frame of zstdFrames((at, length) => bytes.subarray(at, at + length), bytes.length)) size += frame.size;
    return sizeFault("zstd", bytes.length, size) === null ? unzstd(bytes, size) : null;
  } catch {
    return null;
  }
}

class Enough extends Error {}

/**
 * A part as it is; or one that unpacks its messages, where the first of them says that each is packed by itself. Bags say
 * so in their metadata.yaml alone, which is not always there.
 */
export async function withPackedMessages(part: LogPart): Promise<LogPart> {
  const { connections } = part;
  let isPacked = false;
  const look: MessageTarget = (_first, _second, view, at, end) => {
    if (end - at < 4) return;
    isPacked = startsZstd(new Uint8Array(view.buffer, view.byteOffset + at, 4));
    throw new Enough();
  };
  const targets = [...connections.values()]
    .filter(({ encoding }) => encoding === "cdr")
    .map(({ id }) => [id, look] as const);
  try {
    if (targets.length > 0) await part.readMessages(new Map(targets));
  } catch (error) {
    // what cannot be read is reported where it is asked for
    if (!(error instanceof Enough || error instanceof LogError)) {
      part.close();
      throw error;
    }
  }
  return isPacked ? packedMessages(part) : part;
}
