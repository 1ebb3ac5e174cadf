import { createHash } from "node:crypto";
import { closeSync, openSync, readSync } from "node:fs";

/** Bytes read at a time: more than fits a processor's cache is slower. */
const pieceBytes = 1 << 18;

/** SHA-256 of a file, in hexadecimal. Reads in the calling thread and throws what the system says of a file it cannot read. */
export function sha256Of(path: string): string {
  const hash = createHash("sha256");
  const piece = new Uint8Array(pieceBytes);
  const file = openSync(path, "r");
  try {
    for (;;) {
      const count = readSync(file, piece, 0, pieceBytes, null);
      if (count === 0) return hash.digest("hex");
      hash.update(piece.subarray(0, count));
    }
  } finally {
    closeSync(file);
  }
}
