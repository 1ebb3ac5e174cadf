import { type BagMessage, f64s, header } from "../../support/writeBag.ts";

/** The instant at which the made-up logs of these tests start. */
export const start = 1_700_000_000;

export const poseStamped = { type: "geometry_msgs/PoseStamped", md5: "d3812c3cbc69362b77dc0b19b345f8f5" } as const;

/** `count` poses of a hexacopter, 10 ms apart from `first` on, x = index, stamped 4 ms before receipt. */
export function poses(
  count: number,
  options: { topic?: string; first?: number; frame?: string | Uint8Array } = {},
): BagMessage[] {
  const { topic = "/mocap/airframe", first = 0, frame = "arena" } = options;
  return Array.from({ length: count }, (_, i) => {
    const at = (milliseconds: number): [number, number] => [
      start + Math.floor(milliseconds / 1000),
      (milliseconds % 1000) * 1_000_000,
    ];
    const milliseconds = 1000 + 10 * (first + i);
    return {
      topic,
      ...poseStamped,
      received: at(milliseconds),
      data: Buffer.concat([header(at(milliseconds - 4), frame, i), f64s(first + i, -1, 2.5, 0, 0, 0, 1)]),
    };
  });
}

/** 0, 1, ... count - 1: the x of `poses(count)`. */
export function counted(count: number, first = 0): Float64Array {
  return Float64Array.from({ length: count }, (_, i) => first + i);
}

/**
 * A chunk's data as an LZ4 frame of stored blocks: magic, descriptor (version 1, blocks of up to 4 MB, its check
 * byte), length with the top bit set for "stored", data, end mark.
 *
 * @source LZ4 frame format description, version 1.6.1
 */
export function lz4Stored(data: Buffer): Buffer {
  const length = Buffer.alloc(4);
  length.writeUInt32LE(data.length + 0x8000_0000);
  return Buffer.concat([Buffer.from("04224d18607073", "hex"), length, data, Buffer.alloc(4)]);
}
