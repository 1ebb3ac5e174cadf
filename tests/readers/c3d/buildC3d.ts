/** A point file as the format's manual lays it out; frames of points x y z and a fourth word. */
export interface BuiltC3d {
  readonly order: "Intel" | "DEC" | "MIPS";
  /** 0: floating point; else the scale of the integers */
  readonly integers: number;
  readonly labels: readonly string[];
  readonly rate: number;
  readonly unit: string;
  /** POINT:FRAMES as it is to stand, an integer of 16 bits or a floating point number; null: none */
  readonly parameterFrames?: { readonly type: 2 | 4; readonly value: number } | null;
  /** the header's last frame as it is to stand */
  readonly headerEnd?: number;
  /** POINT:LONG_FRAMES, for captures too long for the header's 16 bits */
  readonly longFrames?: number;
  /** TRIAL:ACTUAL_START_FIELD 1 and ACTUAL_END_FIELD this */
  readonly trialEnd?: number;
  /** the fourth word as it is to stand, instead of the residual with no camera */
  readonly word?: (residual: number) => number;
  /** frame by frame, point by point: x, y, z, residual (-1: missing) */
  readonly frames: readonly (readonly (readonly [number, number, number, number])[])[];
}

const processors = { Intel: 84, DEC: 85, MIPS: 86 } as const;

export function buildC3d({ order, integers, labels, rate, unit, frames, ...more }: BuiltC3d): Buffer {
  const { parameterFrames, headerEnd, longFrames, trialEnd, word } = more;
  const told = parameterFrames === undefined ? ({ type: 2, value: frames.length } as const) : parameterFrames;
  const big = order === "MIPS";
  const int16 = (value: number): Buffer => {
    const bytes = Buffer.alloc(2);
    const whole = Math.round(value) & 0xffff;
    if (big) bytes.writeUInt16BE(whole);
    else bytes.writeUInt16LE(whole);
    return bytes;
  };
  const float = (value: number): Buffer => {
    const bytes = Buffer.alloc(4);
    if (big) bytes.writeFloatBE(value);
    else if (order === "Intel") bytes.writeFloatLE(value);
    else {
      // F_floating: the exponent's bias is 2 larger (128 and a hidden bit after the point), the two words exchanged
      const ieee = Buffer.alloc(4);
      ieee.writeFloatBE(value * 4);
      bytes[0] = ieee[1]!;
      bytes[1] = ieee[0]!;
      bytes[2] = ieee[3]!;
      bytes[3] = ieee[2]!;
    }
    return bytes;
  };
  const entry = (name: string, group: number, body: Buffer): Buffer =>
    Buffer.concat([Buffer.from([name.length, group & 255]), Buffer.from(name), int16(body.length + 2), body]);
  const parameter = (type: number, dimensions: readonly number[], data: Buffer): Buffer =>
    Buffer.concat([Buffer.from([type & 255, dimensions.length, ...dimensions]), data, Buffer.from([0])]);
  const texts = (values: readonly string[]): Buffer => {
    const width = Math.max(1, ...values.map((value) => value.length));
    return parameter(-1, [width, values.length], Buffer.from(values.map((value) => value.padEnd(width)).join("")));
  };
  const scale = integers === 0 ? -0.01 : integers;
  const entries = Buffer.concat([
    entry("POINT", -1, Buffer.from([0])),
    entry("LABELS", 1, texts(labels)),
    entry("UNITS", 1, texts([unit])),
    entry("SCALE", 1, parameter(4, [], float(scale))),
    entry("RATE", 1, parameter(4, [], float(rate))),
    ...(told === null
      ? []
      : [entry("FRAMES", 1, parameter(told.type, [], told.type === 2 ? int16(told.value) : float(told.value)))]),
    longFrames === undefined ? Buffer.alloc(0) : entry("LONG_FRAMES", 1, parameter(4, [], float(longFrames))),
    ...(trialEnd === undefined
      ? []
      : [
          entry("TRIAL", -2, Buffer.from([0])),
          entry("ACTUAL_START_FIELD", 2, parameter(2, [2], Buffer.concat([int16(1), int16(0)]))),
          entry(
            "ACTUAL_END_FIELD",
            2,
            parameter(2, [2], Buffer.concat([int16(trialEnd), int16(Math.floor(trialEnd / 65_536))])),
          ),
        ]),
    Buffer.from([0, 0]),
  ]);
  const blocks = Math.ceil((entries.length + 4) / 512);
  const section = Buffer.alloc(512 * blocks);
  Buffer.from([1, 0x50, blocks, processors[order]]).copy(section);
  entries.copy(section, 4);
  const header = Buffer.alloc(512);
  header[0] = 2;
  header[1] = 0x50;
  for (const [k, word] of [labels.length, 0, 1, headerEnd ?? frames.length, 10].entries())
    int16(word).copy(header, 2 + 2 * k);
  float(scale).copy(header, 12);
  int16(2 + blocks).copy(header, 16);
  float(rate).copy(header, 20);
  const number = (value: number): Buffer => (integers === 0 ? float(value) : int16(value / integers));
  const data = frames.flatMap((points) =>
    points.flatMap(([x, y, z, residual]) => {
      const last = word?.(residual) ?? (residual < 0 ? -1 : Math.round(residual / Math.abs(scale)));
      return [number(x), number(y), number(z), integers === 0 ? float(last) : int16(last)];
    }),
  );
  return Buffer.concat([header, section, ...data]);
}
