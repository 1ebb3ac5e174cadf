import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";

/**
 * Writes the built program as one archive, to be unpacked in an empty folder of a machine without network, where it runs as
 * `node counterpoise.mjs`.
 *
 *   node tools/pack.mjs [folder of the build] [folder of the archive]
 */
const root = join(import.meta.dirname, "..");
const built = resolve(process.argv[2] ?? join(root, "dist"));
const { version } = JSON.parse(readFileSync(join(root, "package.json"), "utf8"));
const archive = join(resolve(process.argv[3] ?? root), `counterpoise-program-${version}.tgz`);
const files = ["counterpoise.mjs", "parts", "client", "licences.txt", "sbom.json", "-C", root, "LICENSE"];
const { status, stderr } = spawnSync("tar", ["-czf", archive, "-C", built, ...files], { encoding: "utf8" });
if (status !== 0) throw new Error(`the archive could not be written:\n${stderr}`);
process.stdout.write(`${archive}\n`);
