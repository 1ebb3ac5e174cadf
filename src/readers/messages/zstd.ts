import { existsSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";
import { zstdFrames } from "./zstdFrames.ts";

/** The decoders of compressed chunks: packages of WebAssembly, each with its .wasm file beside it. */
const packages = {
  // the decoder itself, which the function of the package stands before
  lz4: "@foxglove/wasm-lz4/dist/wasm-lz4.js",
  bz2: "@foxglove/wasm-bz2",
  zstd: "@foxglove/wasm-zstd",
} as const;
type CodecName = keyof typeof packages;

const load = createRequire(import.meta.url);

/** In the built program the codecs lie among its parts, so that it runs without node_modules; see tools/build.mjs. */
function codecFile(name: CodecName): string {
  const built = fileURLToPath(new URL(`./codecs/${name}.cjs`, import.meta.url));
  return existsSync(built) ? built : load.resolve(packages[name]);
}

/** A codec's package, loaded when it is first needed. */
export function codecPackage(name: CodecName): unknown {
  return load(codecFile(name));
}

/** The package loaded once more, with a memory of its own. */
function freshCodecPackage(name: CodecName): unknown {
  const place = codecFile(name);
  const before = load.cache[place];
  delete load.cache[place];
  const fresh = load(place);
  if (before === undefined) delete load.cache[place];
  else load.cache[place] = before;
  return fresh;
}

/**
 * Unpacks zstd frames.
 *
 * @param size  how long they become; no less, where they do not say
 * @throws damage of any kind, and frames that say that they become something else
 */
export type Unzstd = (bytes: Uint8Array, size: number) => Uint8Array;

interface Package {
  decompress(bytes: Uint8Array, size: number): Uint8Array;
  readonly isLoaded: Promise<unknown>;
}

let shared: Promise<Unzstd> | null = null;

/** The decoder, loaded when it is first needed. It keeps the memory that the longest frame took. */
export function zstd(): Promise<Unzstd> {
  shared ??= decoder(codecPackage("zstd") as Package);
  return shared;
}

/** A decoder of its own, for frames so long that their memory is not to be kept. */
export function freshZstd(): Promise<Unzstd> {
  return decoder(freshCodecPackage("zstd") as Package);
}

async function decoder(zstd: Package): Promise<Unzstd> {
  await zstd.isLoaded;
  return (bytes, size) => {
    let [most, stated] = [0, true];
    for (const frame of zstdFrames((at, length) => bytes.subarray(at, at + length), bytes.length)) {
      most += frame.size;
      stated &&= frame.stated;
    }
    // Asked before the decoder takes memory for `size` bytes.
    if (stated ? most !== size : most < size) throw new RangeError(`frames of ${most} bytes, expected ${size}`);
    return zstd.decompress(bytes, size);
  };
}
