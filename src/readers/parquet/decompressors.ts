import { brotliDecompressSync, gunzipSync } from "node:zlib";
import { type Compressors, snappyUncompress } from "hyparquet";
import { codecPackage } from "../messages/codecPackage.ts";

type Decompressor = (input: Uint8Array, outputLength: number) => Uint8Array;

/** A page is at most some megabytes; a damaged header may claim gigabytes. */
const largestPage = 2 ** 28;

/** Decompressors of the codecs that a file names, each refusing to allocate what no page can need. */
export async function decompressors(codecs: readonly string[]): Promise<Compressors> {
  const found: Compressors = {
    SNAPPY: checked((input, length) => {
      const output = new Uint8Array(length);
      snappyUncompress(input, output);
      return output;
    }),
    GZIP: checked((input, length) => gunzipSync(input, { maxOutputLength: Math.max(1, length) })),
    BROTLI: checked((input, length) => brotliDecompressSync(input, { maxOutputLength: Math.max(1, length) })),
  };
  if (codecs.includes("ZSTD")) found.ZSTD = checked(await loadZstd());
  return found;
}

function checked(decompress: Decompressor): Decompressor {
  return (input, length) => {
    if (!(length >= 0 && length <= largestPage)) throw new Error(`a page claims ${length} bytes`);
    return decompress(input, length);
  };
}

async function loadZstd(): Promise<Decompressor> {
  const zstd = codecPackage("zstd") as {
    decompress(bytes: Uint8Array, size: number): Uint8Array;
    readonly isLoaded: Promise<unknown>;
  };
  await zstd.isLoaded;
  return (input, length) => zstd.decompress(input, length);
}
