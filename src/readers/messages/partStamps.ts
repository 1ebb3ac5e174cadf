import type { LogStamps, TopicStamps } from "../LogReader.ts";
import { autopilotTopic } from "./autopilotDecoder.ts";
import { startsWithHeader } from "./definition.ts";
import type { LogConnection, LogPart, MessageTarget } from "./LogPart.ts";
import type { MessageDecoder } from "./MessageDecoder.ts";
import { SignalTable } from "./SignalTable.ts";
import { headerByHeart, isTree } from "./signalTypes.ts";
import { textAt, Wire } from "./Wire.ts";

/** Gives a row of nothing but times for each message: receipt, and the header's stamp where there is a header. */
function stampDecoder(options: { wire: Wire; stamped: boolean }): MessageDecoder {
  const { wire, stamped } = options;
  return {
    columns: [],
    stamped,
    decode(view, at, end, table) {
      if (!stamped) {
        table.addRow(0, 0);
        return true;
      }
      if (wire.skipHeader(view, wire.begin(view, at, end), end, table) < 0) return false;
      table.addRow(wire.sec, wire.nsec);
      return true;
    },
  };
}

const transformSize = 56;

/**
 * Gives a row of nothing but times for each transform of a tree.
 *
 * @param children  filled with the child frames met
 */
function treeStampDecoder(wire: Wire, children: Set<string>): MessageDecoder {
  return {
    columns: [],
    stamped: true,
    decode(view, at, end, table) {
      const start = wire.begin(view, at, end);
      const count = wire.count(view, start, end);
      if (count < 0) return false;
      let next = wire.first(start, 1);
      for (let i = 0; i < count; i++) {
        const childAt = wire.skipHeader(view, next, end, table);
        const body = wire.align(wire.skipString(view, childAt, end), 8);
        if (body < 0 || body + transformSize > end) return false;
        children.add(textAt(view, wire.textAt, wire.textLength));
        table.addRow(wire.sec, wire.nsec);
        next = body + transformSize;
      }
      return true;
    },
  };
}

/**
 * Times of the messages of some topics, in one pass; of transform trees, one row per transform.
 *
 * A topic of several types gives the times of all its messages, without stamps unless all types have a header.
 */
export async function partStamps(part: LogPart, topics: readonly string[]): Promise<LogStamps> {
  const start = part.start ?? 0n;
  const clock = part.clock(start);
  const publication = part.publication?.(start) ?? null;
  const tables = new Map<string, { type: string; table: SignalTable }>();
  const targets = new Map<number, MessageTarget>();
  for (const topic of new Set(topics)) {
    const connections = [...part.connections.values()].filter((each) => each.topic === topic);
    if (connections.length === 0) continue;
    const { stamped, decoders } = await decodersOf(connections);
    const ids = new Set(connections.map((each) => each.id));
    const published = part.publication !== undefined;
    const table = new SignalTable([], { capacity: part.messagesOf(ids), stamped, published });
    tables.set(topic, { type: [...new Set(connections.map((each) => each.type))].join(", "), table });
    for (const id of ids) {
      const decoder = decoders.get(id)!;
      targets.set(id, (first, second, view, at, end) => {
        table.receipt = clock(first, second);
        if (publication !== null) table.publication = publication(view, at);
        decoder.decode(view, at, end, table);
      });
    }
  }
  const damage = await part.readMessages(targets);
  const found = [...tables].map(([topic, { type, table }]): [string, TopicStamps] => {
    const { received, stamped, zeroStamps, published } = table.finish(start);
    return [topic, { topic, type, received, stamped, zeroStamps, ...(published ? { published } : {}) }];
  });
  return { topics: new Map(found), damage };
}

/** Bodies of one topic are all named within its first messages, but for one that appears late. */
const mostMessages = 2000;

/** The bodies of all messages that hold several, by topic. */
export async function readBodies(part: LogPart): Promise<Map<string, readonly string[]>> {
  const found = new Map<string, Set<string>>();
  const targets = new Map<number, MessageTarget>();
  // the parser of definitions is loaded where a log has arrays of anything
  const arrays = [...part.connections.values()].filter(({ definition }) => /\[[^\]]*\]\s/.test(definition));
  if (arrays.length === 0) return new Map();
  const { bodiesIn, bodyLayout } = await import("./bodiesDecoder.ts");
  const { wholeMessages } = await import("./wholeMessages.ts");
  for (const connection of arrays) {
    const wire = wireOf(connection);
    const layout = wire === null || isTree(connection.type) ? null : bodyLayout(connection);
    if (wire === null || layout === null) continue;
    const { read } = wholeMessages(connection, layout.definitions, wire);
    const bodies = found.get(connection.topic) ?? new Set<string>();
    found.set(connection.topic, bodies);
    let count = 0;
    targets.set(connection.id, (_first, _second, view, at, end) => {
      if (count++ >= mostMessages) return;
      const message = read(view, at, end);
      // a message that is cut short names nothing; it is counted where it is read
      if (message !== null) for (const { name } of bodiesIn(message, layout)) bodies.add(name);
    });
  }
  if (targets.size > 0) await part.readMessages(targets);
  return new Map([...found].map(([topic, bodies]) => [topic, [...bodies].sort()]));
}

async function decodersOf(connections: readonly LogConnection[]): Promise<{
  stamped: boolean;
  decoders: ReadonlyMap<number, MessageDecoder>;
}> {
  const autopilot = await autopilotDecoders(connections);
  if (autopilot !== null) return { stamped: true, decoders: autopilot };
  const tree = connections.every((each) => isTree(each.type) && wireOf(each) !== null);
  const stamped = tree || connections.every(hasHeader);
  const decoders = connections.map((each): [number, MessageDecoder] => {
    const wire = wireOf(each) ?? new Wire("ros1");
    return [each.id, tree ? treeStampDecoder(wire, new Set()) : stampDecoder({ wire, stamped })];
  });
  return { stamped, decoders: new Map(decoders) };
}

/** Of px4_msgs, which carry no header: the stamps that their signals are read with. Null where not all connections have them. */
async function autopilotDecoders(connections: readonly LogConnection[]): Promise<Map<number, MessageDecoder> | null> {
  if (connections.some((each) => autopilotTopic(each.type) === null)) return null;
  const { autopilotDecoder } = await import("./autopilotDecoder.ts");
  const decoders = new Map<number, MessageDecoder>();
  for (const connection of connections) {
    const wire = wireOf(connection);
    const decoder =
      wire === null ? null : autopilotDecoder(connection, wire, { fields: {}, masked: false, unknown: {} });
    if (decoder === null || !("decode" in decoder) || !decoder.stamped) return null;
    decoders.set(connection.id, decoder);
  }
  return decoders;
}

function wireOf({ encoding }: LogConnection): Wire | null {
  return encoding === "ros1" || encoding === "cdr" ? new Wire(encoding) : null;
}

/** By the definition; without one that can be followed, by what is known of the type. */
function hasHeader(connection: LogConnection): boolean {
  const { type, definition, definitionFormat } = connection;
  if (wireOf(connection) === null) return false;
  return definitionFormat === "msg" && definition !== "" ? startsWithHeader(definition) : headerByHeart(type);
}

/** The child frames of all transform trees of a log, by topic. */
export async function readChildren(part: LogPart): Promise<Map<string, readonly string[]>> {
  const found = new Map<string, Set<string>>();
  const targets = new Map<number, MessageTarget>();
  // Only the names are kept.
  const nothing = new SignalTable([], { capacity: 0, stamped: false });
  for (const connection of part.connections.values()) {
    const wire = wireOf(connection);
    if (!isTree(connection.type) || wire === null) continue;
    const children = found.get(connection.topic) ?? new Set<string>();
    found.set(connection.topic, children);
    const decoder = treeStampDecoder(wire, children);
    targets.set(connection.id, (_first, _second, view, at, end) => {
      nothing.rows = 0;
      decoder.decode(view, at, end, nothing);
    });
  }
  if (targets.size > 0) await part.readMessages(targets);
  return new Map([...found].map(([topic, children]) => [topic, [...children].sort()]));
}
