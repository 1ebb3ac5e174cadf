import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, describe, expect, test } from "vitest";
import { hashBeside } from "../../src/pipeline/effects.ts";
import { sha256Of } from "../../src/pipeline/sha256Of.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-hash-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

// FIPS 180-2, appendix B.1: the message "abc"
const published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
const abc = join(folder, "abc");
writeFileSync(abc, "abc");

test("the published digest of abc, and of one million times a (appendix B.3), longer than one piece", async () => {
  const long = join(folder, "long");
  writeFileSync(long, "a".repeat(1_000_000));
  expect(sha256Of(abc)).toBe(published);
  expect(sha256Of(long)).toBe("cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
  // no built worker beside the sources: hashed here
  expect(await hashBeside(abc)).toBe(published);
});

test("a file that is not there is reported as the system tells it", async () => {
  await expect(hashBeside(join(folder, "missing"))).rejects.toThrow(/ENOENT/);
});

describe("in a thread", () => {
  const worker = (name: string, body: string): URL => {
    const file = join(folder, `${name}.mjs`);
    writeFileSync(file, `import { parentPort } from "node:worker_threads";\n${body}`);
    return pathToFileURL(file);
  };

  test("each asker gets the answer to his own question", async () => {
    const echo = worker("echo", 'parentPort.on("message", (path) => parentPort.postMessage({ path, digest: path }));');
    expect(await Promise.all(["one", "two", "three"].map((path) => hashBeside(path, echo)))).toEqual([
      "one",
      "two",
      "three",
    ]);
    // the thread ended when nobody waited, and another starts
    expect(await hashBeside("four", echo)).toBe("four");
  });

  test("what the thread cannot hash, or a thread that dies, is hashed by the asker", async () => {
    const blind = worker(
      "blind",
      'parentPort.on("message", (path) => parentPort.postMessage({ path, digest: null }));',
    );
    expect(await hashBeside(abc, blind)).toBe(published);
    const dying = worker("dying", 'parentPort.on("message", () => process.exit(1));');
    expect(await Promise.all([hashBeside(abc, dying), hashBeside(abc, dying)])).toEqual([published, published]);
  });
});
