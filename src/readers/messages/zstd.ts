import { codecPackage, freshCodecPackage } from "./codecPackage.ts";
import { zstdFrames } from "./zstdFrames.ts";

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
