import { RecordDamage } from "../messages/LogPart.ts";
import { timeRange } from "../messages/timeRange.ts";
import type { Declarations } from "./Declarations.ts";
import type { McapChunk, Share } from "./mcapLayout.ts";
import type { Pass } from "./Pass.ts";
import { readChunk } from "./readChunk.ts";
import { newWalk, type RecordVisitor } from "./walkRecords.ts";

type Place = Pick<McapChunk, "kind" | "position" | "length" | "compression" | "available">;

/**
 * Walks a chunk, or a stretch outside of chunks, and counts what is in it.
 *
 * @param declarations  those before it, to which its own are added
 * @returns the chunk as it is to be read, null where it holds no message; where its records are damaged, why; and the
 *          length of those that are sound
 */
export async function scanRecords(
  pass: Pass,
  place: Place,
  declarations?: Declarations,
): Promise<{ chunk: McapChunk | null; damage: string | null; sound: number }> {
  const drafts = new Map<number, { -readonly [key in keyof Share]: Share[key] }>();
  const visitor: RecordVisitor = {
    targets: new Map(),
    seen: (number, high, low) => {
      const channel = declarations?.of(number) ?? number;
      const time = (BigInt(high) << 32n) | BigInt(low);
      const share = drafts.get(channel);
      if (share === undefined) drafts.set(channel, { count: 1, start: time, end: time });
      else {
        share.count++;
        if (time < share.start) share.start = time;
        if (time > share.end) share.end = time;
      }
    },
    ...(declarations === undefined ? {} : { described: (op, bytes) => declarations.declare(op, bytes) }),
  };
  const inForce = declarations?.inForce();
  const state = newWalk();
  let damage: string | null = null;
  try {
    await readChunk(pass, place, visitor, state);
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    damage = cause.message;
  }
  const { start, end } = timeRange(drafts.values());
  // What was stepped over at the damage must not be met again: the chunk is read as far as it was sound.
  const available = damage !== null && place.compression === "" ? state.next : place.available;
  if (start === null || end === null) return { chunk: null, damage, sound: state.next };
  const counted = { start, end, messages: state.messages, channels: drafts };
  const chunk = { ...place, available, ...counted, ...(inForce === undefined ? {} : { inForce }) };
  return { chunk, damage, sound: state.next };
}
