import { chmod, copyFile, readFile, rm } from "node:fs/promises";
import { createRequire } from "node:module";
import { basename, join, resolve } from "node:path";
import { rolldown } from "rolldown";

/**
 * Builds dist/ (or the folder named): one small entry, and a chunk for each command that is loaded when it is asked for; the
 * library (index.mjs) on the same chunks; the codecs with their .wasm files. It needs nothing from node_modules, and lies
 * anywhere: every file is .mjs or .cjs, for there is no package.json beside it to say what it is.
 */
const root = join(import.meta.dirname, "..");
const folder = resolve(process.argv[2] ?? join(root, "dist"));
const program = join(folder, "counterpoise.mjs");
for (const old of [program, join(folder, "index.mjs"), join(folder, "parts")])
  await rm(old, { recursive: true, force: true });

// without comments and blanks it loads a third faster; names stay, for the traces of COUNTERPOISE_DEBUG=1
const minify = { compress: false, mangle: false, codegen: { removeWhitespace: true } };
const bundle = await rolldown({
  input: {
    counterpoise: join(root, "src/cli/start.ts"),
    index: join(root, "src/index.ts"),
    runWorker: join(root, "src/pipeline/runWorker.ts"),
    hashWorker: join(root, "src/pipeline/hashWorker.ts"),
  },
  cwd: root,
  platform: "node",
  // a library's writer, which is not called, evaluates text; nothing of ours does
  checks: { eval: false },
});
await bundle.write({
  dir: folder,
  format: "esm",
  // the workers lie among the parts, beside what starts them
  entryFileNames: ({ name }) => (name.endsWith("Worker") ? "parts/[name].mjs" : "[name].mjs"),
  chunkFileNames: "parts/[name]-[hash].mjs",
  sourcemap: false,
  minify,
});
await bundle.close();
if (!(await readFile(program, "utf8")).startsWith("#!")) throw new Error(`${program} lost its first line (#!)`);
await chmod(program, 0o755);

// each codec in one file, beside the .wasm file that it looks for in its own folder (src/readers/messages/codecPackage.ts)
const { resolve: find } = createRequire(import.meta.url);
for (const [name, entry, wasm] of [
  ["lz4", "@foxglove/wasm-lz4/dist/wasm-lz4.js", "@foxglove/wasm-lz4/dist/wasm-lz4.wasm"],
  ["bz2", "@foxglove/wasm-bz2", "@foxglove/wasm-bz2/wasm/module.wasm"],
  ["zstd", "@foxglove/wasm-zstd", "@foxglove/wasm-zstd/dist/wasm-zstd.wasm"],
]) {
  const codec = await rolldown({ input: find(entry), cwd: root, platform: "node", external: /\.wasm$/ });
  await codec.write({ file: join(folder, "parts/codecs", `${name}.cjs`), format: "cjs", sourcemap: false, minify });
  await codec.close();
  await copyFile(find(wasm), join(folder, "parts/codecs", basename(wasm)));
}
