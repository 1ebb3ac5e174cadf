import { closeSync, fstatSync, openSync, readSync } from "node:fs";
import { cannotRead, notAFile } from "../logFormat.ts";

/**
 * A log on disk, read by position. Never holds more than was asked for.
 *
 * Reads are synchronous: from the page cache one costs two microseconds, a promise fifty, and a bag with a
 * camera in it takes thousands of small ones.
 *
 * @throws LogError  code `log-unreadable`: no such file, a folder, no permission
 */
export class LogFile {
  readonly path: string;
  readonly bytes: number;
  readonly #descriptor: number;

  constructor(path: string) {
    this.path = path;
    try {
      this.#descriptor = openSync(path, "r");
    } catch (cause) {
      throw cannotRead(path, cause);
    }
    const stat = fstatSync(this.#descriptor);
    this.bytes = stat.size;
    if (!stat.isFile()) {
      closeSync(this.#descriptor);
      if (stat.isDirectory()) throw cannotRead(path, { code: "EISDIR" });
      throw notAFile(path);
    }
  }

  /**
   * Fills `into` from `position` on.
   *
   * @returns the bytes read: less than asked for only at the end of the file
   */
  readInto(into: Uint8Array, position: number, length: number): number {
    let done = 0;
    while (done < length) {
      const count = readSync(this.#descriptor, into, done, length - done, position + done);
      if (count === 0) break;
      done += count;
    }
    return done;
  }

  /**
   * The bytes [position, position + length), or as many of them as the file has.
   *
   * Allocates no more than the file is long, whatever length a damaged record claims.
   */
  slice(position: number, length: number): Uint8Array {
    const available = Math.max(0, Math.min(length, this.bytes - position));
    const into = new Uint8Array(available);
    return into.subarray(0, this.readInto(into, position, available));
  }

  close(): void {
    closeSync(this.#descriptor);
  }
}
