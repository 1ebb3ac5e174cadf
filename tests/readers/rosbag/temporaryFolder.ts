import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll } from "vitest";

/** A folder that is gone when the suite is done. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-readers-"));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}
