import { LogError } from "../../foundation/errors.ts";
import { LogFile } from "../messages/LogPart.ts";
import { Formats } from "./formats.ts";
import { holdsItsKind, UlogCursor } from "./UlogCursor.ts";

/** One topic that the log subscribed to, one entry for each of its instances. */
export interface Subscription {
  /** "battery_status", and "battery_status/1" for the second instance */
  readonly topic: string;
  /** the format's name */
  readonly format: string;
}

/** What stands in a log besides its data. */
export interface UlogFacts {
  readonly path: string;
  readonly bytes: number;
  readonly version: number;
  /** start of the log, microseconds since boot */
  readonly start: number;
  readonly formats: Formats;
  readonly parameters: ReadonlyMap<string, number>;
  readonly dropouts: { readonly count: number; readonly seconds: number };
  /** what was lost and how the rest was found, in words */
  readonly notes: readonly string[];
}

/** Called for each data message: its topic, and its fields in `view` from `at` (inclusive) to `end` (exclusive). */
export type DataTarget = (view: DataView, at: number, end: number) => void;

export interface WalkOptions {
  /** asked once for each subscription, when it comes; null: its data are passed over */
  readonly onSubscription: (subscription: Subscription, formats: Formats) => DataTarget | null;
}

const magic = [0x55, 0x4c, 0x6f, 0x67, 0x01, 0x12, 0x35];
const headerLength = 16;
const [kindB, kindF, kindP, kindA, kindR, kindD, kindO] = [..."BFPARDO"].map((letter) => letter.charCodeAt(0)) as [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
];

/**
 * Walks a ULog once, in the order of the file: definitions are kept, data messages of the topics asked for handed on.
 *
 * Where bytes are no messages the walk goes on at the next place from which several follow each other, and says how much
 * was passed over.
 *
 * @source PX4 User Guide, ULog File Format
 * @throws LogError  code `log-unreadable`: cannot be opened; no ULog; a feature that readers of its time cannot know
 */
export function walkUlog(path: string, { onSubscription }: WalkOptions): UlogFacts {
  const file = new LogFile(path);
  try {
    const { version, start } = readHeader(file);
    const found = new Collected(path, onSubscription);
    const { passed, stretches, isCut } = walkMessages(file, found);
    const notes: string[] = [];
    if (passed > 0)
      notes.push(
        `${passed} byte(s) in ${stretches} place(s) are no messages${isCut ? ": the log was cut short there, or damaged" : ""}`,
      );
    if (found.wrongSize > 0)
      notes.push(`${found.wrongSize} message(s) are shorter or longer than their format: left out`);
    if (found.broken > 0) notes.push(`${found.broken} message(s) do not hold what their kind says: left out`);
    if (found.strangers > 0)
      notes.push(`${found.strangers} message(s) are of no topic that the log subscribed to: left out`);
    if (version > 1) notes.push(`it is of version ${version}; versions 0 and 1 are known`);
    const { formats, parameters, dropouts, lostMilliseconds } = found;
    return {
      path,
      bytes: file.bytes,
      version,
      start,
      formats,
      parameters,
      dropouts: { count: dropouts, seconds: lostMilliseconds / 1000 },
      notes,
    };
  } finally {
    file.close();
  }
}

/** Hands all messages on; what are none is passed over. `isCut`: nothing else followed the one stretch that was. */
function walkMessages(file: LogFile, found: Collected): { passed: number; stretches: number; isCut: boolean } {
  const cursor = new UlogCursor(file);
  let [passed, stretches] = [0, 0];
  // flags come first, if at all; what they say of appended data parts the file
  let limit = file.bytes;
  for (let at = headerLength; at < file.bytes; ) {
    const next = cursor.message(at, limit);
    if (next === null) {
      const resumed = cursor.resume(at + 1, limit) ?? (limit < file.bytes ? limit : null);
      const skipped = (resumed ?? file.bytes) - at;
      if (limit >= file.bytes || skipped >= 3) {
        passed += skipped;
        stretches++;
      }
      at = resumed ?? file.bytes;
    } else {
      found.take(cursor.kind, cursor.view, cursor.from, cursor.to);
      at = next;
    }
    limit = Math.min(file.bytes, found.appended.find((offset) => offset > at) ?? file.bytes);
  }
  return { passed, stretches, isCut: stretches === 1 && limit === file.bytes };
}

const anySize = { least: 0, most: Number.POSITIVE_INFINITY };

/** What the messages of a log have said so far. */
class Collected {
  readonly formats = new Formats();
  readonly parameters = new Map<string, number>();
  dropouts = 0;
  lostMilliseconds = 0;
  /** data messages that are shorter or longer than their format */
  wrongSize = 0;
  /** messages that do not hold what their kind says */
  broken = 0;
  /** data messages whose number no subscription has: one that was damaged, or of a subscription that was lost */
  strangers = 0;
  /** offsets of data that were appended */
  appended: readonly number[] = [];
  readonly #path: string;
  readonly #onSubscription: WalkOptions["onSubscription"];
  readonly #subscribed = new Map<number, { target: DataTarget | null; least: number; most: number }>();
  readonly #text = new TextDecoder();
  #dataSeen = false;

  constructor(path: string, onSubscription: WalkOptions["onSubscription"]) {
    this.#path = path;
    this.#onSubscription = onSubscription;
  }

  take(kind: number, view: DataView, at: number, end: number): void {
    if (kind === kindD) this.#data(view, at, end);
    else if (!holdsItsKind(kind, view, at, end)) this.broken++;
    else if (kind === kindF) this.formats.add(this.#textAt(view, at, end));
    else if (kind === kindP) this.#parameter(view, at, end);
    else if (kind === kindA && end - at > 3) this.#subscription(view, at, end);
    else if (kind === kindR && end - at >= 2) this.#unsubscribe(view.getUint16(at, true));
    else if (kind === kindO && end - at >= 2) {
      this.dropouts++;
      this.lostMilliseconds += view.getUint16(at, true);
    } else if (kind === kindB && end - at >= 16) this.appended = flagsAt(view, at, end, this.#path);
  }

  #data(view: DataView, at: number, end: number): void {
    this.#dataSeen = true;
    if (end - at < 2) return;
    const found = this.#subscribed.get(view.getUint16(at, true));
    const size = end - at - 2;
    if (found === undefined) this.strangers++;
    else if (size < found.least || size > found.most) this.wrongSize++;
    else found.target?.(view, at + 2, end);
  }

  /** What was under way when a topic was given up may still come: it is passed over. */
  #unsubscribe(id: number): void {
    if (this.#subscribed.has(id)) this.#subscribed.set(id, { target: null, ...anySize });
  }

  #parameter(view: DataView, at: number, end: number): void {
    const found = parameterAt(view, at, end, (each, from, to) => this.#textAt(each, from, to));
    // what is set in flight is not what the flight began with
    if (found !== null && !this.#dataSeen && !this.parameters.has(found.name))
      this.parameters.set(found.name, found.value);
  }

  #subscription(view: DataView, at: number, end: number): void {
    const format = this.#textAt(view, at + 3, end);
    const instance = view.getUint8(at);
    const topic = instance === 0 ? format : `${format}/${instance}`;
    // a format that is lost or cannot be followed does not hide the topic: its messages are counted
    const size = this.formats.sizeOf(format);
    const [least, most] = size ?? [anySize.least, anySize.most];
    const target = this.#onSubscription({ topic, format }, this.formats);
    this.#subscribed.set(view.getUint16(at + 1, true), { target, least, most });
  }

  #textAt(view: DataView, from: number, to: number): string {
    return this.#text.decode(new Uint8Array(view.buffer, view.byteOffset + from, Math.max(0, to - from)));
  }
}

/**
 * Version and start (microseconds since boot) of a ULog, from its header alone.
 *
 * @throws LogError  code `log-unreadable`: cannot be opened; no ULog
 */
export function headerOf(path: string): { version: number; start: number } {
  const file = new LogFile(path);
  try {
    return readHeader(file);
  } finally {
    file.close();
  }
}

function readHeader(file: LogFile): { version: number; start: number } {
  const bytes = file.slice(0, headerLength);
  if (bytes.length < headerLength || magic.some((byte, k) => bytes[k] !== byte))
    throw new LogError(
      "log-unreadable",
      bytes.length < headerLength
        ? `found ${bytes.length} bytes without a whole ULog header, expected ${headerLength}`
        : "found a damaged ULog header, expected its seven first bytes to be 55 4c 6f 67 01 12 35",
      { place: file.path, hint: "copy the log again from the vehicle; a copy as text ruins it" },
    );
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  return { version: bytes[7]!, start: view.getUint32(12, true) * 4_294_967_296 + view.getUint32(8, true) };
}

/** Offsets of appended data; only that bit of the incompatible ones is known. */
function flagsAt(view: DataView, at: number, end: number, path: string): number[] {
  const incompatible = Array.from({ length: 8 }, (_, k) => view.getUint8(at + 8 + k));
  if ((incompatible[0]! & ~1) !== 0 || incompatible.slice(1).some((byte) => byte !== 0))
    throw new LogError(
      "log-unreadable",
      `found a ULog with features that are not known (flags ${incompatible.join(" ")}), expected at most appended data`,
      {
        place: path,
        hint: "convert the log with the autopilot's own tools to one without them",
      },
    );
  const offsets: number[] = [];
  for (let k = at + 16; k + 8 <= end; k += 8) {
    const offset = view.getUint32(k + 4, true) * 4_294_967_296 + view.getUint32(k, true);
    if (offset > 0) offsets.push(offset);
  }
  return offsets.sort((a, b) => a - b);
}

function parameterAt(
  view: DataView,
  at: number,
  end: number,
  textAt: (view: DataView, from: number, to: number) => string,
): { name: string; value: number } | null {
  if (end - at < 1) return null;
  const value = at + 1 + view.getUint8(at);
  if (value + 4 > end) return null;
  const [type, name] = textAt(view, at + 1, value).split(" ");
  if (name === undefined) return null;
  if (type === "float") return { name, value: view.getFloat32(value, true) };
  return type === "int32_t" ? { name, value: view.getInt32(value, true) } : null;
}
