import type { SignalTable } from "./SignalTable.ts";

/** Turns the bytes of messages of one type into rows of a table. One decoder serves one signal of one recording. */
export interface MessageDecoder {
  readonly columns: readonly string[];
  /** columns that a message may declare as not meant */
  readonly maskable?: readonly string[];
  /** whether the type carries a header */
  readonly stamped: boolean;
  /**
   * Adds the rows of one message, whose bytes are `view` from `at` to `end`.
   *
   * @returns false where the message is too short for its type or holds nothing: it gives no row and is counted
   */
  decode(view: DataView, at: number, end: number, table: SignalTable): boolean;
  /** asked once at the end: why the rows cannot serve, with what there was instead; null where they can */
  fault?(rows: number): DecoderFault | null;
}

export interface DecoderFault {
  readonly reason: "wrong-type" | "child";
  readonly message: string;
  readonly hint: string;
}

/** Buffer that grows to the longest stretch needed and is used again for each chunk. */
export class Scratch {
  #bytes = new Uint8Array(0);

  take(length: number): Uint8Array {
    if (this.#bytes.length < length) this.#bytes = new Uint8Array(length);
    return this.#bytes.subarray(0, length);
  }
}
