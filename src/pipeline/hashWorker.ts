import { parentPort } from "node:worker_threads";
import { sha256Of } from "./sha256Of.ts";

/** What the hashing thread answers: the digest of a file, or null where it cannot be read. */
export interface HashAnswer {
  readonly path: string;
  readonly digest: string | null;
}

parentPort?.on("message", (path: string) => {
  let digest: string | null = null;
  try {
    digest = sha256Of(path);
  } catch {
    // asked again in the main thread, which then meets the same fault and tells it
  }
  parentPort?.postMessage({ path, digest } satisfies HashAnswer);
});
