import { spawnSync } from "node:child_process";
import { copyFile, mkdir, mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";

/** Writes the library's declarations to dist/types (or the folder named): those that src/index.ts leads to, no others. */
const root = join(import.meta.dirname, "..");
const folder = resolve(process.argv[2] ?? join(root, "dist/types"));
const whole = await mkdtemp(join(tmpdir(), "counterpoise-types-"));
try {
  const compiler = join(root, "node_modules/.bin/tsc");
  const { status, stdout } = spawnSync(compiler, ["-p", join(root, "tsconfig.library.json"), "--outDir", whole], {
    encoding: "utf8",
  });
  if (status !== 0) throw new Error(`the declarations could not be made:\n${stdout}`);
  await rm(folder, { recursive: true, force: true });
  const files = new Set(["index.d.ts"]);
  for (const file of files) {
    const text = await readFile(join(whole, file), "utf8");
    for (const [, name] of text.matchAll(/(?:\bfrom |\bimport\()"(\.[^"]+)\.ts"/g))
      files.add(join(dirname(file), `${name}.d.ts`));
    await mkdir(dirname(join(folder, file)), { recursive: true });
    await copyFile(join(whole, file), join(folder, file));
  }
} finally {
  await rm(whole, { recursive: true, force: true });
}
