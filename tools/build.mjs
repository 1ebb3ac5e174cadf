import { chmod, readFile, rm } from "node:fs/promises";
import { join, resolve } from "node:path";
import { rolldown } from "rolldown";

/**
 * Builds dist/ (or the folder named): one small entry, and a chunk for each command that is loaded when it is asked for.
 * The codecs stay outside: they find their .wasm files beside themselves in node_modules.
 */
const root = join(import.meta.dirname, "..");
const folder = resolve(process.argv[2] ?? join(root, "dist"));
const program = join(folder, "counterpoise.js");
for (const old of [program, join(folder, "parts")]) await rm(old, { recursive: true, force: true });
const bundle = await rolldown({
  input: {
    counterpoise: join(root, "src/cli/main.ts"),
    runWorker: join(root, "src/pipeline/runWorker.ts"),
    hashWorker: join(root, "src/pipeline/hashWorker.ts"),
  },
  cwd: root,
  platform: "node",
  external: ["@foxglove/wasm-lz4", "@foxglove/wasm-bz2", "@foxglove/wasm-zstd"],
  // a library's writer, which is not called, evaluates text; nothing of ours does
  checks: { eval: false },
});
await bundle.write({
  dir: folder,
  format: "esm",
  // the workers lie among the parts, beside what starts them
  entryFileNames: ({ name }) => (name === "counterpoise" ? "[name].js" : "parts/[name].js"),
  chunkFileNames: "parts/[name]-[hash].js",
  sourcemap: false,
  // without comments and blanks it loads a third faster; names stay, for the traces of COUNTERPOISE_DEBUG=1
  minify: { compress: false, mangle: false, codegen: { removeWhitespace: true } },
});
await bundle.close();
if (!(await readFile(program, "utf8")).startsWith("#!")) throw new Error(`${program} lost its first line (#!)`);
await chmod(program, 0o755);
