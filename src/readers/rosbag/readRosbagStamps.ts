import type { StampColumn } from "../../foundation/recording.ts";
import type { BagLayout } from "./bagLayout.ts";
import { startsWithHeader } from "./definition.ts";
import type { MessageDecoder } from "./MessageDecoder.ts";
import { openBag } from "./openBag.ts";
import { messagesOf } from "./planSignals.ts";
import { readMessages } from "./readMessages.ts";
import { SignalTable, secondsAfter } from "./SignalTable.ts";
import { treeTypes } from "./signalTypes.ts";
import { stampDecoder, treeStampDecoder } from "./stampDecoder.ts";
import type { MessageTarget } from "./walkRecords.ts";

/**
 * Times of the messages of some topics of a ROS 1 bag, in one pass; of transform trees, one row per transform.
 *
 * A topic of several types gives the times of all its messages, without stamps unless all types have a header.
 *
 * @returns by topic; topics that the bag does not have are left out
 * @throws LogError  code `log-unreadable`: the bag cannot be read
 */
export async function readRosbagStamps(
  path: string,
  topics: readonly string[],
): Promise<
  Map<string, { topic: string; type: string; received: StampColumn; stamped: StampColumn | null; zeroStamps: number }>
> {
  const layout = await openBag(path);
  try {
    const start = layout.start ?? 0n;
    const startSec = Number(start / 1_000_000_000n);
    const startNsec = Number(start % 1_000_000_000n);
    const tables = new Map<string, { type: string; table: SignalTable }>();
    const targets = new Map<number, MessageTarget>();
    for (const topic of new Set(topics)) {
      const connections = [...layout.connections.values()].filter((each) => each.topic === topic);
      if (connections.length === 0) continue;
      const ids = new Set(connections.map((each) => each.id));
      const decoder = decoderOf(connections);
      const table = new SignalTable([], { capacity: messagesOf(layout, ids), stamped: decoder.stamped });
      tables.set(topic, { type: [...new Set(connections.map((each) => each.type))].join(", "), table });
      for (const id of ids)
        targets.set(id, (sec, nsec, view, at, end) => {
          table.receipt = secondsAfter(sec, nsec, startSec, startNsec);
          decoder.decode(view, at, end, table);
        });
    }
    await readMessages(layout, targets);
    return new Map(
      [...tables].map(([topic, { type, table }]) => {
        const { received, stamped, zeroStamps } = table.finish(start);
        return [topic, { topic, type, received, stamped, zeroStamps }];
      }),
    );
  } finally {
    layout.file.close();
  }
}

function decoderOf(connections: readonly { type: string; definition: string }[]): MessageDecoder {
  if (connections.every(({ type }) => treeTypes.includes(type))) return treeStampDecoder(new Set());
  return stampDecoder({ stamped: connections.every(({ definition }) => startsWithHeader(definition)) });
}

/** The child frames of all transform trees of a bag, by topic. */
export async function readChildren(layout: BagLayout): Promise<Map<string, readonly string[]>> {
  const found = new Map<string, Set<string>>();
  const targets = new Map<number, MessageTarget>();
  for (const { id, topic, type } of layout.connections.values()) {
    if (!treeTypes.includes(type)) continue;
    const children = found.get(topic) ?? new Set<string>();
    found.set(topic, children);
    const decoder = treeStampDecoder(children);
    targets.set(id, (_sec, _nsec, view, at, end) => {
      // Only the names are kept.
      decoder.decode(view, at, end, new SignalTable([], { capacity: 0, stamped: false }));
    });
  }
  if (targets.size > 0) await readMessages(layout, targets);
  return new Map([...found].map(([topic, children]) => [topic, [...children].sort()]));
}
