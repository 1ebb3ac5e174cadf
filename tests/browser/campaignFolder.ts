import { mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";

const sample = resolve(import.meta.dirname, "../../sample-data");

/**
 * A folder of its own with the sample campaign: the manifest may be written over, the logs are links to the sample's.
 *
 * @param bench  with its bench, whose 120 runs take as long to read as the flights; else without the block
 */
export function campaignFolder({ bench }: { readonly bench: boolean }): {
  readonly folder: string;
  readonly remove: () => void;
} {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-browser-"));
  const manifest = readFileSync(join(sample, "campaign.yaml"), "utf8");
  writeFileSync(join(folder, "campaign.yaml"), bench ? manifest : manifest.replace(/^bench:\n(?: .*\n)+/m, ""));
  for (const name of readdirSync(sample)) {
    if (name.endsWith(".bag") || name === "bench") symlinkSync(join(sample, name), join(folder, name));
  }
  return { folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}
