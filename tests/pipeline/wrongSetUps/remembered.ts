import { createHash } from "node:crypto";
import { serialize } from "node:v8";
import type { Recording } from "../../../src/foundation/recording.ts";
import { type Measurement, measureOne } from "../../../src/pipeline/measureOne.ts";
import type { MeasureRuns } from "../../../src/pipeline/runPool.ts";

/** Runs that were measured, by all that they were measured from: the job and the log, byte for byte. */
export type Remembered = Map<string, Measurement>;

/**
 * Measures each run in this thread, and the same run once only: most slips leave half of a campaign's runs as they were, and without
 * an effect the baseline's are those of the campaign that has one.
 *
 * @param logs    the log of each run, by the name under which it is filed
 * @param known   what was measured before; nothing is added
 * @param found   what is measured now
 */
export const measureOnce =
  (
    logs: Readonly<Record<string, Recording>>,
    known: ReadonlyMap<string, Measurement>,
    found: Remembered,
  ): MeasureRuns =>
  async (jobs, effects) => {
    const measured: Measurement[] = [];
    for (const job of jobs) {
      const read = Object.values(job.declaration.logs)
        .flat()
        .map((log) => logs[log]);
      const key = createHash("sha1")
        .update(serialize([job, read]))
        .digest("base64");
      const run = known.get(key) ?? found.get(key) ?? (await measureOne(job, effects));
      found.set(key, run);
      measured.push(run);
    }
    return measured;
  };
