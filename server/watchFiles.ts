import { differing, type FileStamp, stampsOf } from "../src/pipeline/fileStamp.ts";
import type { Every } from "./ServiceEffects.ts";

/** Looks at files again and again and tells what differs from the stamps it was given. */
export interface FileWatch {
  /** what the files were when the last evaluation was begun, good or not */
  readonly begun: (stamps: ReadonlyMap<string, string>) => void;
  readonly stop: () => void;
}

/**
 * Watches files by looking: events of the disk get lost on network drives and in containers.
 *
 * @param options.period    milliseconds between two looks
 * @param options.onLook    the stamps found, at every look
 * @param options.onSettle  some file differs from `begun` and nothing has moved since the last look: a log still being
 *   copied is not evaluated half
 */
export function watchFiles(options: {
  stamp: FileStamp;
  every: Every;
  period: number;
  onLook: (stamps: ReadonlyMap<string, string>) => void;
  onSettle: () => void;
}): FileWatch {
  let base: ReadonlyMap<string, string> = new Map();
  let last: ReadonlyMap<string, string> = new Map();
  let looking = false;
  const look = async (): Promise<void> => {
    if (looking) return;
    looking = true;
    try {
      const found = await stampsOf(base.keys(), options.stamp);
      const moved = differing(found, last).length > 0;
      last = found;
      options.onLook(found);
      if (!moved && differing(found, base).length > 0) options.onSettle();
    } finally {
      looking = false;
    }
  };
  const stop = options.every(options.period, () => void look());
  return {
    stop,
    begun: (stamps) => {
      base = stamps;
      last = stamps;
    },
  };
}
