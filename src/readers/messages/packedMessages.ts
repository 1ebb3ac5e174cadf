import { sizeFault } from "./codecs.ts";
import type { LogPart, MessageTarget } from "./LogPart.ts";
import { type Unzstd, zstd } from "./zstd.ts";
import { zstdFrames } from "./zstdFrames.ts";

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
