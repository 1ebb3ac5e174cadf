import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";

/** Who wrote the packages that a build holds, and under which licence: their own words, for most licences ask for that. */
export async function licencesText(root) {
  const { packages } = JSON.parse(await readFile(join(root, "package-lock.json"), "utf8"));
  const parts = ["The program holds code of these packages.\n"];
  for (const [place, { dev, version, license }] of Object.entries(packages)) {
    if (place === "" || dev) continue;
    const folder = join(root, place);
    const files = (await readdir(folder)).filter((name) => /^(licen[cs]e|copying|notice)/i.test(name)).sort();
    const { author } = JSON.parse(await readFile(join(folder, "package.json"), "utf8"));
    const by = typeof author === "string" ? author : (author?.name ?? "its authors");
    const texts = await Promise.all(files.map((name) => readFile(join(folder, name), "utf8")));
    const name = place.slice(place.lastIndexOf("node_modules/") + "node_modules/".length);
    parts.push([`${name} ${version} (${license}), by ${by}\n`, ...texts].join("\n"));
  }
  return parts.join(`\n${"-".repeat(80)}\n\n`);
}
