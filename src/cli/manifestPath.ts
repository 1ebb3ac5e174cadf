import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { ArgumentError } from "../foundation/errors.ts";

/** The manifest a folder stands for. */
const manifestName = "campaign.yaml";

/**
 * The manifest meant by an operand: the file itself, or `campaign.yaml` in the folder named.
 *
 * @throws ArgumentError  a folder without `campaign.yaml`
 */
export function manifestPath(operand: string): string {
  if (!isFolder(operand)) return operand;
  const inside = join(operand, manifestName);
  if (existsSync(inside)) return inside;
  throw new ArgumentError("no-manifest", `found a folder without ${manifestName}, expected a manifest`, {
    place: operand,
    hint: "name the manifest itself; `counterpoise inspect LOG` prints one to start from",
  });
}

/** Whether a path leads to a folder. */
export function isFolder(path: string): boolean {
  return statSync(path, { throwIfNoEntry: false })?.isDirectory() ?? false;
}
