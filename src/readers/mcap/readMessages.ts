import type { MessageTarget, Wanted } from "../messages/LogPart.ts";
import { RecordDamage } from "../messages/RecordDamage.ts";
import { chunkTargets } from "./chunkTargets.ts";
import { firstOf, type McapLayout } from "./mcapLayout.ts";
import { Pass } from "./Pass.ts";
import { readChunk } from "./readChunk.ts";
import { newWalk } from "./walkRecords.ts";

/**
 * Hands the messages of the wanted channels to their targets, in the order of the file, chunk by chunk.
 * Chunks without a wanted message are not read.
 *
 * @returns what could not be read, in words
 * @throws LogError  code `log-unreadable`: a chunk is packed in a way that is not known
 */
export async function readMessages(
  layout: McapLayout,
  targets: ReadonlyMap<number, MessageTarget>,
  wanted?: Wanted,
): Promise<readonly string[]> {
  const pass = new Pass(layout.file);
  const notes: string[] = [];
  let lost = 0;
  const targetsOf = chunkTargets(layout, targets);
  for (const chunk of layout.chunks) {
    if (wanted !== undefined && !wanted(chunk.start, chunk.end)) continue;
    if (![...chunk.channels.keys()].some((id) => targets.has(id))) continue;
    const { visitor, contradictions } = targetsOf(chunk);
    const state = newWalk();
    let reason = "its messages are fewer than the index says";
    let sound = true;
    try {
      sound = await readChunk(pass, chunk, visitor, state);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      reason = cause.message;
    }
    const expected = [...chunk.channels].reduce((sum, [id, { count }]) => sum + (targets.has(id) ? count : 0), 0);
    const missing = chunk.messages - state.messages;
    if (missing > 0) {
      lost += missing;
      notes.push(`the chunk at byte ${chunk.position} lost ${missing} of ${chunk.messages} message(s): ${reason}`);
    } else if (contradictions.length > 0 || state.handed !== expected) {
      lost += Math.max(0, expected - state.handed);
      const why = contradictions.length === 0 ? "" : `: ${firstOf(contradictions)}`;
      notes.push(
        `the chunk at byte ${chunk.position} gave ${state.handed} message(s) where the index says ${expected}${why}`,
      );
    } else if (!sound)
      notes.push(
        `the chunk at byte ${chunk.position} does not match its checksum: its ${state.messages} message(s) are read as they are`,
      );
  }
  if (notes.length > 3)
    notes.splice(3, notes.length - 3, `${notes.length} damaged chunks lost ${lost} message(s) in all`);
  return notes;
}
