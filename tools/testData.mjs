import { createHash } from "node:crypto";
import { createReadStream, existsSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";

/**
 * Holds a folder against tests/data.json: the open logs that the suites of `COUNTERPOISE_OPEN_LOGS` read, where each comes from,
 * under which licence, and its SHA-256.
 *
 *   npm run test:data DIR
 *
 * Exit code 0 where all of them are there as they should be, else 1.
 */
const [folder] = process.argv.slice(2);
if (folder === undefined) {
  console.error("expected a folder: npm run test:data DIR");
  process.exit(2);
}
const wanted = JSON.parse(readFileSync(join(import.meta.dirname, "../tests/data.json"), "utf8"));
const faults = [];
let held = 0;
for (const [name, { source, commit, below, licence, files, renamed = {} }] of Object.entries(wanted)) {
  const own = [];
  for (const [file, expected] of Object.entries(files)) {
    const path = join(folder, name, file);
    const found = existsSync(path) ? await sha256Of(path) : null;
    if (found === expected) held++;
    else if (found === null)
      own.push(`  missing: ${name}/${file}${file in renamed ? ` (there: ${renamed[file]})` : ""}`);
    else own.push(`  another file: ${name}/${file}: found ${found}, expected ${expected}`);
  }
  if (own.length > 0)
    faults.push(`${name}: from ${source}, commit ${commit}, ${below || "paths as there"} (${licence})`, ...own);
}
if (faults.length > 0) {
  console.error(faults.join("\n"));
  process.exitCode = 1;
} else console.log(`all ${held} files are there: COUNTERPOISE_OPEN_LOGS=${resolve(folder)} npm test runs their suites`);

async function sha256Of(path) {
  const hash = createHash("sha256");
  for await (const part of createReadStream(path)) hash.update(part);
  return hash.digest("hex");
}
