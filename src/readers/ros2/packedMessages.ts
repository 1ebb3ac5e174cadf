import { codecFor, sizeFault, zstdContentSize } from "../messages/codecs.ts";
import type { LogPart, MessageTarget } from "../messages/LogPart.ts";

/** A part whose recorder packed each message by itself; they are unpacked before they are handed on. */
export function packedMessages(part: LogPart): LogPart {
  // unpacked, a message no longer lies behind its time of publication
  const { publication: _, ...rest } = part;
  return {
    ...rest,
    compression: () => ["zstd (messages)"],
    readMessages: async (targets, wanted) => {
      const unpack = await codecFor("zstd")!;
      // the codec answers with a promise, a message is handed on at once: gathered first, unpacked after
      const packed: { first: number; second: number; bytes: Uint8Array; target: MessageTarget }[] = [];
      const gathering = new Map<number, MessageTarget>();
      for (const [id, target] of targets)
        gathering.set(id, (first, second, view, at, end) => {
          const bytes = new Uint8Array(view.buffer, view.byteOffset + at, end - at).slice();
          packed.push({ first, second, bytes, target });
        });
      const notes = [...(await part.readMessages(gathering, wanted))];
      let lost = 0;
      for (const { first, second, bytes, target } of packed) {
        try {
          const size = Number(zstdContentSize(bytes) ?? -1);
          if (size < 0 || sizeFault("zstd", bytes.length, size) !== null) throw new RangeError("no plausible length");
          const content = await unpack(bytes, size);
          target(first, second, new DataView(content.buffer, content.byteOffset, content.length), 0, content.length);
        } catch {
          lost++;
        }
      }
      if (lost > 0) notes.push(`${lost} message(s) cannot be unpacked`);
      return notes;
    },
  };
}
