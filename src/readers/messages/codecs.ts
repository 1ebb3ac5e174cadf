import type { Codec } from "./Codec.ts";
import { codecPackage } from "./codecPackage.ts";
import { lz4 } from "./lz4.ts";
import { zstd } from "./zstd.ts";

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
