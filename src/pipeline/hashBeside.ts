import { existsSync } from "node:fs";
import { Worker } from "node:worker_threads";
import type { HashAnswer } from "./hashWorker.ts";
import { sha256Of } from "./sha256Of.ts";

/** The built worker lies beside the built program; run from its sources, files are hashed in the calling thread. */
const builtWorker = new URL("./hashWorker.mjs", import.meta.url);

type Waiting = { readonly path: string; readonly done: (digest: string | null) => void };
let thread: { readonly worker: Worker; readonly waiting: Waiting[] } | null = null;

/**
 * SHA-256 of a file, in hexadecimal, worked out in a thread of its own while the caller goes on: a second reading of a
 * long log costs as much as the first. The thread ends when nobody waits for it.
 *
 * @throws what the system says of a file that cannot be read
 */
export async function hashBeside(path: string, workerFile: URL = builtWorker): Promise<string> {
  if (!existsSync(workerFile)) return sha256Of(path);
  const digest = await new Promise<string | null>((done) => {
    thread ??= startThread(workerFile);
    const { worker, waiting } = thread;
    waiting.push({ path, done });
    worker.postMessage(path);
  });
  return digest ?? sha256Of(path);
}

function startThread(workerFile: URL): NonNullable<typeof thread> {
  const worker = new Worker(workerFile);
  const own = { worker, waiting: [] as Waiting[] };
  const end = (): void => {
    if (thread === own) thread = null;
    // whoever still waits hashes for himself
    for (const { done } of own.waiting.splice(0)) done(null);
  };
  // answers come in the order of the questions
  worker.on("message", ({ digest }: HashAnswer) => {
    own.waiting.shift()?.done(digest);
    if (own.waiting.length > 0) return;
    end();
    void worker.terminate();
  });
  worker.on("error", end);
  worker.on("exit", end);
  return own;
}
