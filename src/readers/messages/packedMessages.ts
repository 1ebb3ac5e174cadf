import { LogError } from "../../foundation/errors.ts";
import { sizeFault } from "./codecs.ts";
import type { LogPart, MessageTarget } from "./LogPart.ts";
import { type Unzstd, zstd } from "./zstd.ts";
import { startsZstd, zstdFrames } from "./zstdFrames.ts";

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
    // what cannot be read is reported by whoever asks for it
    if (!(error instanceof Enough || error instanceof LogError)) {
      part.close();
      throw error;
    }
  }
  return isPacked ? packedMessages(part) : part;
}
