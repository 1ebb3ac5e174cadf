import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";

/**
 * Writes dist/sbom.json (or into the folder named): which packages the program holds, in which version and with which sums, in the
 * open form CycloneDX. npm makes it from the lock file; what differs from day to day and from folder to folder is taken out, so that
 * the same lock file gives the same bytes. Packages that only build and test go here, not by npm's own --omit, which leaves out
 * packages of the program that are also wished for by one of those (yaml).
 */
const root = join(import.meta.dirname, "..");
const folder = resolve(process.argv[2] ?? join(root, "dist"));
const args = ["sbom", "--sbom-format", "cyclonedx", "--package-lock-only"];
const { status, stdout, stderr } = spawnSync("npm", args, {
  cwd: root,
  encoding: "utf8",
  shell: process.platform === "win32",
});
if (status !== 0) throw new Error(`npm ${args.join(" ")} ended with ${status}:\n${stderr}`);
const { serialNumber: _, ...sbom } = JSON.parse(stdout);
const { packages } = JSON.parse(readFileSync(join(root, "package-lock.json"), "utf8"));
const own = Object.entries(packages).flatMap(([place, { version, dev }]) =>
  dev || place === "" ? [] : [`${place.slice(place.lastIndexOf("node_modules/") + "node_modules/".length)}@${version}`],
);
const held = new Set([sbom.metadata.component["bom-ref"], ...own]);
sbom.components = sbom.components.filter((each) => held.has(each["bom-ref"]));
sbom.dependencies = sbom.dependencies
  .filter(({ ref }) => held.has(ref))
  .map(({ ref, dependsOn }) => ({ ref, dependsOn: dependsOn.filter((other) => held.has(other)) }));
const { name, version } = JSON.parse(readFileSync(join(root, "package.json"), "utf8"));
const { timestamp: __, ...metadata } = sbom.metadata;
sbom.metadata = { ...metadata, component: { ...metadata.component, type: "application", name, version } };
writeFileSync(join(folder, "sbom.json"), `${JSON.stringify(sbom, null, 2)}\n`);
