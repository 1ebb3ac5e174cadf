import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { chmod, copyFile, readdir, readFile, realpath, rm, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { basename, join, relative, resolve, sep } from "node:path";
import { rolldown } from "rolldown";
import { licencesText } from "./licences.mjs";

/**
 * Builds dist/ (or the folder named): one small entry, and a chunk for each command that is loaded when it is asked for; the
 * library (index.mjs) on the same chunks; the codecs with their .wasm files. It needs nothing from node_modules, and lies
 * anywhere: every file is .mjs or .cjs, for there is no package.json beside it to say what it is. It comes last: into the program
 * goes a hash of all that was built, the dashboard in the folder included.
 */
const root = join(import.meta.dirname, "..");
/** what a build is made of */
const built = ["src", "server", "client", "tools", "package.json", "package-lock.json", "vite.client.config.ts"];
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
    journeyWorker: join(root, "server/journeyWorker.ts"),
  },
  cwd: root,
  platform: "node",
  // a library's writer, which is not called, evaluates text; nothing of ours does
  checks: { eval: false },
  transform: { define: { builtCommit: '"commit of the build"', builtParts: '"hash of the parts"' } },
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

// each codec in one file, beside the .wasm file that it looks for in its own folder (src/readers/messages/zstd.ts)
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

await writeFile(join(folder, "licences.txt"), await licencesText(root));

// the hash is taken with both places empty, so that the same sources give the same one, in git or out of it
const files = (await readdir(folder, { recursive: true, withFileTypes: true }))
  .filter((entry) => entry.isFile() && !entry.parentPath.startsWith(join(folder, "types")))
  .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join("/"))
  .sort();
const hash = createHash("sha256");
for (const file of files) hash.update(`${file}\0`).update(await readFile(join(folder, file)));
const parts = hash.digest("hex").slice(0, 12);
const literals = {
  "commit of the build": JSON.stringify(await commitOf(root)),
  "hash of the parts": JSON.stringify(parts),
};
let named = 0;
for (const file of files.filter((each) => each.endsWith(".mjs"))) {
  const text = await readFile(join(folder, file), "utf8");
  const full = text.replace(/(["'`])(commit of the build|hash of the parts)\1/g, (_, _quote, place) => literals[place]);
  if (full === text) continue;
  named += 1;
  await writeFile(join(folder, file), full);
}
if (named !== 1) throw new Error(`${named} files name the build, expected one`);

/** The commit that is built, with "+changes" where files differ from it; null where the folder is no checkout of its own. */
async function commitOf(checkout) {
  const git = (...args) => {
    const { status, stdout } = spawnSync("git", args, { cwd: checkout, encoding: "utf8" });
    return status === 0 ? stdout.trim() : null;
  };
  const top = git("rev-parse", "--show-toplevel");
  if (top === null || (await realpath(top)) !== (await realpath(checkout))) return null;
  const head = git("rev-parse", "HEAD")?.slice(0, 12) ?? "";
  return git("status", "--porcelain", "--", ...built) === "" ? head : `${head}+changes`;
}
