import type { Check } from "../../foundation/checks.ts";
import type { Parameter } from "./parameters.ts";

/** How many frames a point file holds. */
export interface FrameCount {
  /** frames to read: never more than there is room for */
  readonly frames: number;
  /** what is lost or left unread */
  readonly notes: readonly string[];
  /** counts that contradict each other */
  readonly checks: readonly Check[];
}

/** What a file says of its length, and where. */
interface Stated {
  readonly by: string;
  readonly frames: number;
}

/** The data section is filled up to whole blocks. */
const block = 512;
/** The largest count of 16 bits, which also says that the true one stands elsewhere. */
const full = 65_535;

/**
 * Frames of a point file. LONG_FRAMES overrides every other count, POINT:FRAMES counts unless it is 65535, then the fields
 * of TRIAL do; the header's range is that of the raw data and serves only where nothing else is reported. Where the first of
 * these does not fill the file and another does, the other is believed. Counts that differ are reported.
 *
 * @param header  words 4 and 5: first and last frame
 * @param bytes   from the first frame to the end of the file
 * @source c3d.org: Reading the frame count, POINT:LONG_FRAMES, The TRIAL frame calculation
 */
export function frameCount(
  parameters: ReadonlyMap<string, Parameter>,
  header: readonly [number, number],
  bytes: number,
  frameBytes: number,
): FrameCount {
  const stated = countsOf(parameters, header);
  const room = Math.max(0, Math.floor(bytes / frameBytes));
  const fills = ({ frames }: Stated): boolean => frames <= room && bytes - frames * frameBytes <= block;
  const believed = stated.find(fills) ?? stated[0] ?? { by: "nothing", frames: 0 };
  const notes: string[] = [];
  if (believed.frames > room) notes.push(`it ends after ${room} of ${believed.frames} frames`);
  else if (bytes - believed.frames * frameBytes > block && room > believed.frames)
    notes.push(`it claims ${believed.frames} frames, but has room for ${room}: those beyond its claim are not read`);
  const others = stated.filter(({ frames }) => frames !== believed.frames);
  return {
    frames: Math.min(believed.frames, room),
    notes,
    checks: others.length === 0 ? [] : [contradiction(believed, others, room, fills(believed))],
  };
}

/** What is reported, in the order in which the format has it counted; without the 16-bit counts of captures too long for them. */
function countsOf(parameters: ReadonlyMap<string, Parameter>, [first, last]: readonly [number, number]): Stated[] {
  const single = (name: string): number | null => {
    const value = parameters.get(name)?.numbers[0];
    if (value === undefined || !Number.isFinite(value)) return null;
    // an unsigned integer of 16 bits, or a floating point number
    const frames = Math.floor(value < 0 && value >= -32_768 ? value + 65_536 : value);
    return frames > 0 ? frames : null;
  };
  const field = (name: string): number | null => {
    const words = parameters.get(name)?.numbers;
    return words === undefined || words.length < 2 ? null : (words[0]! & 0xffff) + 65_536 * (words[1]! & 0xffff);
  };
  const [from, to] = [field("TRIAL:ACTUAL_START_FIELD"), field("TRIAL:ACTUAL_END_FIELD")];
  const trial = from !== null && to !== null && to >= from ? to - from + 1 : null;
  const parameter = single("POINT:FRAMES");
  const range = last >= first && last > 0 ? last - first + 1 : null;
  const all: readonly (readonly [string, number | null])[] = [
    ["POINT:LONG_FRAMES", single("POINT:LONG_FRAMES")],
    ["POINT:FRAMES", parameter === full ? null : parameter],
    ["TRIAL", trial],
    ["POINT:FRAMES", parameter === full ? parameter : null],
    ["the header", range],
  ];
  const stated = all.flatMap(([by, frames]): Stated[] => (frames === null ? [] : [{ by, frames }]));
  const beyond = stated.some(({ frames }) => first + frames - 1 > full);
  return beyond
    ? stated.filter(({ by, frames }) => by !== "the header" && !(by === "POINT:FRAMES" && frames === full))
    : stated;
}

function contradiction(believed: Stated, others: readonly Stated[], room: number, confirmed: boolean): Check {
  const counts = others.map(({ by, frames }) => `${by} counts ${frames}`).join(", ");
  return {
    code: "recovered",
    severity: "note",
    message: `${believed.by} counts ${believed.frames} frames, ${counts}; the first is believed${confirmed ? ", which the size of the file bears out" : `, though the file has room for ${room}`}`,
    evidence: { believed: believed.frames, others: others.map(({ frames }) => frames), room },
    hint: "does the capture end where it should? Export it again where it does not",
  };
}
