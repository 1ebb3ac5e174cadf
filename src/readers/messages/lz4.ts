import type { Codec } from "./Codec.ts";
import { codecPackage } from "./codecPackage.ts";
import type { Scratch } from "./Scratch.ts";

/** The decoder inside the package, a memory of its own with functions on it; pointers are places in `HEAPU8`. */
interface Decoder {
  readonly HEAPU8: Uint8Array;
  _malloc(length: number): number;
  _free(pointer: number): void;
  _createDecompressionContext(): number;
  /** bytes written, -1 where the frame is damaged */
  _decompressFrame(context: number, to: number, size: number, from: number, length: number): number;
}

/**
 * Unpacks LZ4 frames into a buffer that is used again. The package's own function makes a new buffer each time, and a bag's
 * worth of them is let go only when the heap is next swept.
 *
 * The decoder itself is what `isLoaded` and the function of the package stand before.
 *
 * @returns the codec; it throws where a frame is damaged
 */
export async function lz4(): Promise<Codec> {
  let unpack = await freshDecoder();
  return async (bytes, size, room) => {
    try {
      return unpack(bytes, size, room);
    } catch {
      // A decoder stays broken after a damaged frame: it would refuse every good chunk that follows, in this log and in
      // the next. A second opinion from a new one decides.
      unpack = await freshDecoder();
      try {
        return unpack(bytes, size, room);
      } catch (cause) {
        unpack = await freshDecoder();
        throw cause;
      }
    }
  };
}

async function freshDecoder(): Promise<(bytes: Uint8Array, size: number, room: Scratch) => Uint8Array> {
  const make = codecPackage("lz4") as () => Promise<Decoder>;
  const decoder = await make();
  const context = decoder._createDecompressionContext();
  return (bytes, size, room) => {
    const from = decoder._malloc(bytes.length);
    const to = decoder._malloc(size);
    try {
      if (from === 0 || to === 0) throw new Error("found no memory for an LZ4 frame");
      // looked up anew each time: making room may have made another memory
      decoder.HEAPU8.set(bytes, from);
      const written = decoder._decompressFrame(context, to, size, from, bytes.length);
      if (written < 0) throw new Error("found a damaged LZ4 frame");
      // only now: the packed bytes may lie in the same room
      const unpacked = room.take(written);
      unpacked.set(decoder.HEAPU8.subarray(to, to + written));
      return unpacked;
    } finally {
      decoder._free(from);
      decoder._free(to);
    }
  };
}
