/** Buffer that grows to the longest stretch needed and is used again for each chunk. */
export class Scratch {
  #bytes = new Uint8Array(0);

  take(length: number): Uint8Array {
    if (this.#bytes.length < length) this.#bytes = new Uint8Array(length);
    return this.#bytes.subarray(0, length);
  }
}
