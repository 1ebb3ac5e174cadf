/** A frame of zstd data that holds content. */
export interface ZstdFrame {
  /** where it starts, and its length, bytes */
  readonly position: number;
  readonly length: number;
  /** how long its content is; the most that it can be where the frame does not say */
  readonly size: number;
  /** whether the frame says how long its content is */
  readonly stated: boolean;
}

/** The first four bytes of a frame, and those of one to be skipped, whose last digit is free. */
const frameMagic = 0xfd2fb528;
const skippableMagic = 0x184d2a50;
const longestHeader = 18;
const longestBlock = 128 * 1024;

/** Bytes of a file or buffer, by position; fewer than asked for only at its end. */
export type BytesAt = (position: number, length: number) => Uint8Array;

/**
 * Finds the frames of zstd data, of which one file may hold several behind each other; those to be skipped are left out.
 *
 * Nothing is unpacked: a frame is a header and blocks, each with its length before it. Where a frame does not say how long
 * its content is, its blocks bound it.
 *
 * @source RFC 8878, sections 3.1.1 and 3.1.2
 * @throws RangeError  no zstd data, or cut short
 */
export function* zstdFrames(bytesAt: BytesAt, total: number): Generator<ZstdFrame> {
  for (let position = 0; position < total; ) {
    const view = viewAt(bytesAt, position, longestHeader);
    const magic = view.byteLength < 4 ? 0 : view.getUint32(0, true);
    const isFrame = magic === frameMagic || (magic & 0xfffffff0) >>> 0 === skippableMagic;
    if (!isFrame)
      throw new RangeError(position === 0 ? "no zstd frame" : `no zstd frame at byte ${position}, behind others`);
    if (view.byteLength < 8) throw new RangeError(`it ends within the frame at byte ${position}`);
    if (magic !== frameMagic) position += 8 + view.getUint32(4, true);
    else {
      const frame = frameAt(view, bytesAt, position);
      yield frame;
      position += frame.length;
    }
    if (position > total) throw new RangeError(`it ends after ${total} of ${position} bytes`);
  }
}

function frameAt(view: DataView, bytesAt: BytesAt, position: number): ZstdFrame {
  const { bytes, contentSize, window, checksum } = headerOf(view);
  const blockLimit = Math.min(longestBlock, window ?? longestBlock);
  let at = position + bytes;
  let bound = 0;
  for (let last = false; !last; ) {
    const head = bytesAt(at, 3);
    if (head.length < 3) throw new RangeError(`it ends within the frame at byte ${position}`);
    const word = head[0]! | (head[1]! << 8) | (head[2]! << 16);
    const kind = (word >> 1) & 3;
    const size = word >> 3;
    if (kind === 3) throw new RangeError(`the frame at byte ${position} holds a block of no kind`);
    last = (word & 1) === 1;
    // stored; one byte, repeated; packed
    bound += kind === 2 ? blockLimit : size;
    at += 3 + (kind === 1 ? 1 : size);
  }
  const length = at + (checksum ? 4 : 0) - position;
  return { position, length, size: contentSize ?? bound, stated: contentSize !== null };
}

interface FrameHeader {
  /** its own length */
  readonly bytes: number;
  /** null where it does not say */
  readonly contentSize: number | null;
  /** how far back the content may refer; null where as far as it is long */
  readonly window: number | null;
  readonly checksum: boolean;
}

/** @source RFC 8878, section 3.1.1.1 */
function headerOf(view: DataView): FrameHeader {
  if (view.byteLength < 6) throw new RangeError("it ends within the header of its frame");
  const descriptor = view.getUint8(4);
  const oneSegment = (descriptor & 0x20) !== 0;
  const sizeBytes = [oneSegment ? 1 : 0, 2, 4, 8][descriptor >> 6]!;
  const at = 5 + (oneSegment ? 0 : 1) + [0, 1, 2, 4][descriptor & 3]!;
  if (view.byteLength < at + sizeBytes) throw new RangeError("it ends within the header of its frame");
  const exponent = view.getUint8(5);
  const window = oneSegment ? null : 2 ** (10 + (exponent >> 3)) * (1 + (exponent & 7) / 8);
  return { bytes: at + sizeBytes, contentSize: sizeAt(view, at, sizeBytes), window, checksum: (descriptor & 4) !== 0 };
}

function sizeAt(view: DataView, at: number, bytes: number): number | null {
  if (bytes === 0) return null;
  if (bytes === 1) return view.getUint8(at);
  if (bytes === 2) return view.getUint16(at, true) + 256;
  return bytes === 4 ? view.getUint32(at, true) : Number(view.getBigUint64(at, true));
}

/** Whether bytes are those of a zstd frame, by its first four. */
export function startsZstd(bytes: Uint8Array): boolean {
  return bytes[0] === 0x28 && bytes[1] === 0xb5 && bytes[2] === 0x2f && bytes[3] === 0xfd;
}

function viewAt(bytesAt: BytesAt, position: number, length: number): DataView {
  const bytes = bytesAt(position, length);
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
}
