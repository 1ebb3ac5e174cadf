import { createRequire } from "node:module";

/** Decompresses one chunk: the bytes and how long the chunk says they become. */
export type Codec = (bytes: Uint8Array, size: number) => Promise<Uint8Array>;

type Lz4 = ((bytes: Uint8Array, size: number) => Uint8Array) & { readonly isLoaded: Promise<unknown> };
type Bzip2 = { init(): Promise<{ decompress(bytes: Uint8Array, size: number): Uint8Array }> };

/**
 * Largest growth a codec can bring about, to refuse sizes that no chunk can have before anything is allocated.
 * lz4: a length byte adds at most 255. bzip2: a block of 900 000 bytes takes no less than about 40.
 */
const growth: Readonly<Record<string, number>> = { lz4: 255, bz2: 24_000 };
const largestChunk = 2 ** 30;

/** Whether a chunk can become as long as it says. */
export function plausibleSize(compression: string, compressed: number, size: number): boolean {
  return size <= Math.min(largestChunk, (compressed + 64) * (growth[compression] ?? 1));
}

const codecs: Readonly<Record<string, () => Promise<Codec>>> = { lz4: loadLz4, bz2: loadBzip2 };
const loaded = new Map<string, Promise<Codec>>();

/** The codec of a chunk, loaded when a chunk first needs it; null where the name is unknown. */
export function codecFor(compression: string): Promise<Codec> | null {
  const loader = codecs[compression];
  if (loader === undefined) return null;
  const codec = loaded.get(compression) ?? loader();
  loaded.set(compression, codec);
  return codec;
}

export const knownCompressions: readonly string[] = ["none", ...Object.keys(codecs)];

async function loadLz4(): Promise<Codec> {
  let lz4 = await freshLz4();
  return async (bytes, size) => {
    try {
      return lz4(bytes, size);
    } catch {
      // The package keeps one decoder, and it stays broken after a damaged frame: it would refuse every good
      // chunk that follows, in this log and in the next. A second opinion from a new one decides.
      lz4 = await freshLz4();
      try {
        return lz4(bytes, size);
      } catch (cause) {
        lz4 = await freshLz4();
        throw cause;
      }
    }
  };
}

async function freshLz4(): Promise<Lz4> {
  const name = "@foxglove/wasm-lz4";
  // A loader of its own: a shared one would keep every decoder it ever loaded.
  const load = createRequire(import.meta.url);
  delete load.cache[load.resolve(name)];
  const lz4 = load(name) as Lz4;
  await lz4.isLoaded;
  return lz4;
}

async function loadBzip2(): Promise<Codec> {
  const load = createRequire(import.meta.url);
  const events = ["uncaughtException", "unhandledRejection"];
  const before = new Map(events.map((event) => [event, process.listeners(event as "exit")]));
  const bzip2 = await (load("@foxglove/wasm-bz2") as Bzip2).init();
  // The package listens for every uncaught error of the process and throws it again; what an error means to the
  // process is for the command line to say.
  for (const [event, kept] of before)
    for (const listener of process.listeners(event as "exit"))
      if (!kept.includes(listener)) process.removeListener(event, listener);
  return async (bytes, size) => bzip2.decompress(bytes, size);
}
