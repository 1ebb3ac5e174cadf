import * as library from "@foxglove/rosbag/dist/cjs/BagReader.js";

type BagReaderClass = typeof library.default;

/**
 * The library's index reader alone. Its front door also loads a parser of message definitions, which costs as long
 * as reading a short bag and which only `fields:` needs.
 *
 * @param source  the file: its length, and bytes by position
 */
export function newBagReader(source: ConstructorParameters<BagReaderClass>[0]): InstanceType<BagReaderClass> {
  // A CommonJS default export arrives bare or one level down, as the loader or bundler sees fit.
  const exported = library.default as BagReaderClass | { readonly default: BagReaderClass };
  const BagReader = typeof exported === "function" ? exported : exported.default;
  return new BagReader(source);
}
