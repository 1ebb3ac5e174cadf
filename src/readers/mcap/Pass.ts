import { mostBelieved } from "../messages/codecs.ts";
import { type LogFile, RecordDamage } from "../messages/LogPart.ts";
import { Scratch } from "../messages/MessageDecoder.ts";

/** One pass over the chunks of a file: the buffer that it uses again for each, and how much it has unpacked. */
export class Pass {
  readonly file: LogFile;
  /** room for one chunk */
  readonly scratch = new Scratch();
  #unpacked = 0;

  constructor(file: LogFile) {
    this.file = file;
  }

  /** A buffer of a length that was checked; valid until the next call. */
  take(length: number): Uint8Array {
    return this.scratch.take(length);
  }

  /** To be asked before a chunk is unpacked. @throws RecordDamage  more than any log can need: each chunk alone takes seconds */
  unpack(size: number): void {
    const allowed = mostBelieved(this.file.bytes);
    if (this.#unpacked + size > allowed)
      throw new RecordDamage(
        `with it, chunks of a file of ${this.file.bytes} bytes would become more than the ${allowed} that are believed`,
      );
    this.#unpacked += size;
  }
}
