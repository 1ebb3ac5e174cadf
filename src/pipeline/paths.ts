import { basename, dirname, isAbsolute, join, relative } from "node:path";

/** A path written in a manifest, as the disk knows it: relative to the manifest's folder. */
export function besideManifest(manifestPath: string, path: string): string {
  return isAbsolute(path) ? path : join(dirname(manifestPath), path);
}

/** A path on the disk as a manifest would write it: where the program was started does not show. */
export function fromManifest(manifestPath: string, path: string): string {
  return relative(dirname(manifestPath), path);
}

/** The manifest's own name, wherever it lies. */
export function fileName(manifestPath: string): string {
  return basename(manifestPath);
}
