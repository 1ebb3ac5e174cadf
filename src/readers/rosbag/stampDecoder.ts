import type { MessageDecoder } from "./MessageDecoder.ts";
import { skipArray, skipHeader } from "./messageBytes.ts";

/** Gives a row of nothing but times for each message: receipt, and the header's stamp where there is a header. */
export function stampDecoder(options: { stamped: boolean }): MessageDecoder {
  const { stamped } = options;
  return {
    columns: [],
    stamped,
    decode(view, at, end, table) {
      if (!stamped) {
        table.addRow(0, 0);
        return true;
      }
      if (skipHeader(view, at, end, table) < 0) return false;
      table.addRow(view.getUint32(at + 4, true), view.getUint32(at + 8, true));
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
export function treeStampDecoder(children: Set<string>): MessageDecoder {
  const decoder = new TextDecoder();
  return {
    columns: [],
    stamped: true,
    decode(view, at, end, table) {
      if (end - at < 4) return false;
      const count = view.getUint32(at, true);
      let next = at + 4;
      for (let i = 0; i < count; i++) {
        const childAt = skipHeader(view, next, end, table);
        if (childAt < 0) return false;
        const body = skipArray(view, childAt, end);
        if (body < 0 || body + transformSize > end) return false;
        children.add(decoder.decode(new Uint8Array(view.buffer, view.byteOffset + childAt + 4, body - childAt - 4)));
        table.addRow(view.getUint32(next + 4, true), view.getUint32(next + 8, true));
        next = body + transformSize;
      }
      return true;
    },
  };
}
