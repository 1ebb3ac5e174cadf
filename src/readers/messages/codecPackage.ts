import { existsSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";

/** The decoders of compressed chunks: packages of WebAssembly, each with its .wasm file beside it. */
const packages = {
  // the decoder itself, which the function of the package stands before
  lz4: "@foxglove/wasm-lz4/dist/wasm-lz4.js",
  bz2: "@foxglove/wasm-bz2",
  zstd: "@foxglove/wasm-zstd",
} as const;
export type CodecName = keyof typeof packages;

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
export function freshCodecPackage(name: CodecName): unknown {
  const place = codecFile(name);
  const before = load.cache[place];
  delete load.cache[place];
  const fresh = load(place);
  if (before === undefined) delete load.cache[place];
  else load.cache[place] = before;
  return fresh;
}
