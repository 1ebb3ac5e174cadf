import type { MessageTarget } from "../messages/LogPart.ts";
import { RecordDamage } from "../messages/RecordDamage.ts";
import { Scratch } from "../messages/Scratch.ts";
import type { BagLayout } from "./bagLayout.ts";
import { readChunk } from "./readChunk.ts";

/**
 * Hands the messages of the wanted connections to their targets, in the order of the file, chunk by chunk.
 * Chunks without a wanted message are not read.
 *
 * @returns what could not be read, in words, one entry per damaged chunk
 * @throws LogError  code `log-unreadable`: a chunk is packed in a way that is not known
 */
export async function readMessages(
  layout: BagLayout,
  targets: ReadonlyMap<number, MessageTarget>,
): Promise<readonly string[]> {
  const scratch = new Scratch();
  const damaged: string[] = [];
  let lost = 0;
  for (const chunk of layout.chunks) {
    const wanted = [...chunk.shares.keys()].some((id) => targets.has(id));
    if (!wanted) continue;
    const expected = [...chunk.shares.values()].reduce((sum, { count }) => sum + count, 0);
    const state = { next: 0, needed: 0, messages: 0 };
    let reason = "its messages are fewer than the index says";
    try {
      await readChunk(layout.file, chunk, { targets }, scratch, state);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      reason = cause.message;
    }
    if (state.messages >= expected) continue;
    lost += expected - state.messages;
    damaged.push(
      `the chunk at byte ${chunk.position} lost ${expected - state.messages} of ${expected} message(s): ${reason}`,
    );
  }
  if (damaged.length <= 3) return damaged;
  return [...damaged.slice(0, 3), `${damaged.length} damaged chunks lost ${lost} message(s) in all`];
}
