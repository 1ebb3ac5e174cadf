import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { parquetWriteBuffer } from "hyparquet-writer";
import type { RecordedSignal, StampColumn } from "../src/foundation/recording.ts";
import { simulateStaticCapture } from "../src/simulation/capture.ts";
import { manifestFor } from "../src/simulation/manifestFor.ts";
import { simulateFlight } from "../src/simulation/simulateFlight.ts";
import { benchFiles, benchTable, withBenchBlock } from "./sampleBench.ts";
import { sampleFlights, samplePlan, sampleStatics } from "./sampleCampaign.ts";

/**
 * Flies the sample campaign and leaves it in a folder (argument) for `sample-data/write_bags.py`: `campaign.yaml`, and per log
 * a JSON header beside raw little-endian columns of 8 bytes a value: receipt and stamp (int64, nanoseconds), then doubles.
 */
const folder = process.argv[2];
if (!folder) throw new Error("usage: makeSampleData FOLDER");
mkdirSync(folder, { recursive: true });

const flights = sampleFlights();
for (const { run, settings, seed } of flights) write(folder, run.log, simulateFlight(settings, seed).signals);
for (const { log, settings, seed } of sampleStatics)
  write(folder, log, simulateStaticCapture(settings, 20, seed).signals);
const remark =
  "# A simulated campaign; README.md beside this file says how it came about. Written by tools/make-sample-data.sh.\n";
writeFileSync(join(folder, "campaign.yaml"), remark + withBenchBlock(manifestFor(samplePlan(flights))));
writeBench(join(folder, "bench"));

/** Tables of whole numbers, packed as differences. */
function writeBench(into: string): void {
  mkdirSync(into, { recursive: true });
  writeFileSync(join(into, "runs.csv"), benchTable());
  for (const { log, columns } of benchFiles()) {
    const bytes = parquetWriteBuffer({
      columnData: Object.entries(columns).map(([name, data]) => ({
        name,
        data,
        type: "INT32" as const,
        nullable: false,
        encoding: "DELTA_BINARY_PACKED" as const,
        statistics: false,
      })),
      codec: "GZIP",
      compressors: { GZIP: (input) => gzipSync(input, { level: 9 }) },
      statistics: false,
    });
    writeFileSync(join(folder!, log), Buffer.from(bytes));
  }
}

function write(into: string, log: string, signals: readonly RecordedSignal[]): void {
  const parts: Uint8Array[] = [];
  const topics = signals.map((signal) => {
    const columns = Object.keys(signal.columns);
    const stamps = [signal.received, signal.stamped ?? signal.received].map(nanoseconds);
    for (const column of [...stamps, ...columns.map((name) => signal.columns[name]!)])
      parts.push(new Uint8Array(column.buffer, column.byteOffset, column.byteLength));
    const { topic, type, frameId } = signal;
    return { topic, type, frame_id: frameId, messages: signal.received.seconds.length, columns };
  });
  writeFileSync(join(into, `${log}.json`), JSON.stringify({ topics }));
  writeFileSync(join(into, `${log}.columns`), Buffer.concat(parts));
}

/** A stamp that the log should show as zero is NaN here and 0 there. */
function nanoseconds({ epoch, seconds }: StampColumn): BigInt64Array {
  return BigInt64Array.from(seconds, (value) => (Number.isNaN(value) ? 0n : epoch + BigInt(Math.round(value * 1e9))));
}
