import type { Scratch } from "./MessageDecoder.ts";
import { codecPackage, zstd } from "./zstd.ts";

type Bzip2 = { init(): Promise<{ decompress(bytes: Uint8Array, size: number): Uint8Array }> };

/**
 * Largest growth a codec can bring about, to refuse sizes that no chunk can have before anything is allocated.
 * lz4: a length byte adds at most 255. bzip2: a block of 900 000 bytes takes no less than about 40. zstd: a block
 * of 128 KiB takes no less than four.
 */
const growth: Readonly<Record<string, number>> = { lz4: 255, bz2: 24_000, zstd: 32_768 };

/** How many bytes are believed to be packed in a file: logs become ten times longer, images of one colour a hundred times. */
export function mostBelieved(fileBytes: number): number {
  return 2 ** 30 + 1000 * fileBytes;
}

/**
 * The longest chunk or message that is unpacked, bytes. Recorders write chunks of one to four megabytes; a decoder needs
 * the packed and the unpacked bytes at once, keeps room for both, and hands on a copy.
 */
export const largestChunk = 2 ** 28;

/**
 * Why a chunk or message is not unpacked, in words; null where it may be. To be asked before anything is allocated.
 *
 * @param compressed  its length as it is, bytes
 * @param size        how long it says that it becomes
 */
export function sizeFault(compression: string, compressed: number, size: number): string | null {
  if (size > (compressed + 64) * (growth[compression] ?? 1)) return `${compressed} packed bytes cannot become ${size}`;
  // what cannot be packed becomes a little longer
  if (Math.max(size, compressed - 2 ** 20) > largestChunk)
    return `${compressed} packed bytes that become ${size} are more than can be unpacked at once (${largestChunk})`;
  return null;
}

const codecs: Readonly<Record<string, () => Promise<Codec>>> = { lz4, bz2: loadBzip2, zstd: loadZstd };
const loaded = new Map<string, Promise<Codec>>();

/** The codec of a chunk, loaded when a chunk first needs it; null where the name is unknown. */
export function codecFor(compression: string): Promise<Codec> | null {
  const loader = codecs[compression];
  if (loader === undefined) return null;
  const codec = loaded.get(compression) ?? loader();
  loaded.set(compression, codec);
  return codec;
}

async function loadZstd(): Promise<Codec> {
  const unzstd = await zstd();
  return async (bytes, size) => unzstd(bytes, size);
}

async function loadBzip2(): Promise<Codec> {
  const events = ["uncaughtException", "unhandledRejection"];
  const before = new Map(events.map((event) => [event, process.listeners(event as "exit")]));
  const bzip2 = await (codecPackage("bz2") as Bzip2).init();
  // The package listens for every uncaught error of the process and throws it again; what an error means to the
  // process is for the command line to say.
  for (const [event, kept] of before)
    for (const listener of process.listeners(event as "exit"))
      if (!kept.includes(listener)) process.removeListener(event, listener);
  return async (bytes, size) => bzip2.decompress(bytes, size);
}

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
async function lz4(): Promise<Codec> {
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
      // looked up again each time: making room may have made another memory
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

/**
 * Decompresses one chunk: the bytes and how long the chunk says they become. What comes back may lie in `room`, and lasts until
 * that is used again; `room` may be the one that the bytes lie in.
 */
type Codec = (bytes: Uint8Array, size: number, room: Scratch) => Promise<Uint8Array>;
