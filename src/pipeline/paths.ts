import { dirname, isAbsolute, join } from "node:path";

/** A path written in a manifest, as the disk knows it: relative to the manifest's folder. */
export function besideManifest(manifestPath: string, path: string): string {
  return isAbsolute(path) ? path : join(dirname(manifestPath), path);
}
