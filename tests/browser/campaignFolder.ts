import { copyFileSync, mkdtempSync, readdirSync, rmSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";

const sample = resolve(import.meta.dirname, "../../sample-data");

/** A folder of its own with the sample campaign: the manifest may be written over, the logs are links to the sample's. */
export function campaignFolder(): { readonly folder: string; readonly remove: () => void } {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-browser-"));
  copyFileSync(join(sample, "campaign.yaml"), join(folder, "campaign.yaml"));
  for (const name of readdirSync(sample)) {
    if (name.endsWith(".bag") || name === "bench") symlinkSync(join(sample, name), join(folder, name));
  }
  return { folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}
