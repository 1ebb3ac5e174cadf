import type { DecoderFault, MessageDecoder } from "./MessageDecoder.ts";
import { sameBytes, textAt, type Wire } from "./Wire.ts";

const names = ["x", "y", "z", "qx", "qy", "qz", "qw"] as const;
const transformSize = 56;
const slash = 0x2f;

/**
 * Decodes the transforms of one child frame: from a tree (several in a message) or one in a message.
 *
 * Frames are the same with and without a leading slash. Without a wanted child the only one there is serves;
 * several are refused, for mixing them would make a track that jumps. So are two parents of one child.
 *
 * @param options.tree   whether a message holds an array of transforms
 * @param options.child  child_frame_id wanted
 */
export function transformDecoder(options: { wire: Wire; tree: boolean; child?: string | undefined }): MessageDecoder {
  const { wire } = options;
  const encoder = new TextEncoder();
  const others = new Set<string>();
  let child = options.child === undefined ? null : encoder.encode(withoutSlash(options.child));
  let parent: Uint8Array | null = null;
  let otherParent: string | null = null;

  /** One transform; returns where the next starts, or -1. */
  const decodeOne: (...parameters: Parameters<MessageDecoder["decode"]>) => number = (view, at, end, table) => {
    const childAt = wire.skipHeader(view, at, end, null);
    const body = wire.align(wire.skipString(view, childAt, end), 8);
    if (body < 0 || body + transformSize > end) return -1;
    const nameEnd = wire.textAt + wire.textLength;
    const name = bare(view, wire.textAt, nameEnd);
    if (child === null) child = encoder.encode(textAt(view, name, nameEnd - name));
    if (!sameBytes(view, name, nameEnd - name, child)) {
      others.add(textAt(view, name, nameEnd - name));
      return body + transformSize;
    }
    const frameEnd = wire.frameAt + wire.frameLength;
    const from = bare(view, wire.frameAt, frameEnd);
    if (parent === null) {
      parent = new Uint8Array(view.buffer, view.byteOffset + from, frameEnd - from).slice();
      table.frameId = textAt(view, wire.frameAt, wire.frameLength);
    } else if (otherParent === null && !sameBytes(view, from, frameEnd - from, parent)) {
      otherParent = textAt(view, from, frameEnd - from);
    }
    const row = table.addRow(wire.sec, wire.nsec);
    for (let i = 0; i < names.length; i++) table.columns[i]![row] = view.getFloat64(body + 8 * i, wire.little);
    return body + transformSize;
  };

  return {
    columns: names,
    stamped: true,
    decode(view, at, end, table) {
      const start = wire.begin(view, at, end);
      if (!options.tree) return decodeOne(view, start, end, table) >= 0;
      const count = wire.count(view, start, end);
      if (count < 0) return false;
      let next = wire.first(start, 1);
      for (let i = 0; i < count && next >= 0; i++) next = decodeOne(view, next, end, table);
      return next >= 0;
    },
    fault(rows) {
      if (options.child === undefined && others.size > 0) {
        const all = [new TextDecoder().decode(child ?? new Uint8Array()), ...others];
        return severalChildren(all);
      }
      if (rows === 0 && options.child !== undefined && others.size > 0) return noSuchChild(options.child, [...others]);
      return otherParent === null
        ? null
        : twoParents(new TextDecoder().decode(child!), new TextDecoder().decode(parent!), otherParent);
    },
  };
}

function withoutSlash(name: string): string {
  return name.startsWith("/") ? name.slice(1) : name;
}

/** Where a frame name starts once its leading slash is left out. */
function bare(view: DataView, at: number, end: number): number {
  return at < end && view.getUint8(at) === slash ? at + 1 : at;
}

function severalChildren(children: readonly string[]): DecoderFault {
  return {
    reason: "child",
    message: `found transforms of ${children.length} child frames (${listed(children)}), expected one`,
    hint: `say which: child: ${children[0]}`,
  };
}

function noSuchChild(wanted: string, children: readonly string[]): DecoderFault {
  return {
    reason: "child",
    message: `found no transform of child frame "${wanted}", only of ${listed(children)}`,
    hint: "name one of the child frames there are",
  };
}

function twoParents(child: string, first: string, second: string): DecoderFault {
  return {
    reason: "child",
    message: `found transforms of "${child}" in "${first}" and in "${second}", expected one parent frame`,
    hint: "record the motion capture's own pose topic, or one publisher of this child",
  };
}

function listed(names: readonly string[]): string {
  const shown = [...names].sort().slice(0, 12);
  return shown.join(", ") + (names.length > shown.length ? `, and ${names.length - shown.length} more` : "");
}
