import type { MessageDecoder } from "./MessageDecoder.ts";
import { textAt, type Wire } from "./Wire.ts";

/** Gives a row of nothing but times for each message: receipt, and the header's stamp where there is a header. */
export function stampDecoder(options: { wire: Wire; stamped: boolean }): MessageDecoder {
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
export function treeStampDecoder(wire: Wire, children: Set<string>): MessageDecoder {
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
