import type { MessageIndex } from "./messageIndex.ts";

const mostNamed = 5;

/** What is told of messages whose topic_id is in no row of the table of topics; null where there are none. */
export function withoutTopic(index: MessageIndex, known: ReadonlyMap<number, unknown>): string | null {
  const numbers = new Set<number>();
  let count = 0;
  for (let row = 0; row < index.count; row++) {
    const topic = index.topic[row]!;
    if (known.has(topic)) continue;
    count++;
    if (numbers.size <= mostNamed) numbers.add(topic);
  }
  if (count === 0) return null;
  const named = [...numbers].slice(0, mostNamed).join(", ") + (numbers.size > mostNamed ? " ..." : "");
  return `${count} message(s) belong to no row of the table of topics (topic_id ${named}): left out`;
}
