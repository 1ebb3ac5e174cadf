/** How the numbers of a point file are written. */
export interface ByteOrder {
  readonly name: "Intel" | "DEC" | "MIPS";
  readonly little: boolean;
  float(view: DataView, at: number): number;
}

const scratch = new DataView(new ArrayBuffer(4));

/**
 * The byte order of a processor type: 84 Intel, 85 DEC, 86 MIPS.
 *
 * DEC's single precision keeps its two 16-bit words the other way round, and an exponent that is two larger; a value with
 * exponent 0 is 0.
 *
 * @returns null for any other
 * @source c3d.org, The C3D File Format, sections on processor types and floating point formats
 */
export function byteOrder(processor: number): ByteOrder | null {
  if (processor === 84) return { name: "Intel", little: true, float: (view, at) => view.getFloat32(at, true) };
  if (processor === 86) return { name: "MIPS", little: false, float: (view, at) => view.getFloat32(at, false) };
  if (processor !== 85) return null;
  return {
    name: "DEC",
    little: true,
    float: (view, at) => {
      scratch.setUint16(0, view.getUint16(at, true));
      scratch.setUint16(2, view.getUint16(at + 2, true));
      // an exponent of 0 stands for 0 whatever the other bits say
      return (scratch.getUint16(0) & 0x7f80) === 0 ? 0 : scratch.getFloat32(0) / 4;
    },
  };
}
