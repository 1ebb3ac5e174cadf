import type { Scratch } from "./Scratch.ts";

/**
 * Decompresses one chunk: the bytes and how long the chunk says they become. What comes back may lie in `room`, and lasts until
 * that is used again; `room` may be the one that the bytes lie in.
 */
export type Codec = (bytes: Uint8Array, size: number, room: Scratch) => Promise<Uint8Array>;
