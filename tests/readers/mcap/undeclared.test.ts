import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { McapRecordBuilder } from "@mcap/core";
import { expect, test } from "vitest";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { buildMcap, cdrPoses, type McapOptions, recordsOf } from "./buildMcap.ts";

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;

/**
 * A file of the format's own library whose channel `lost` is declared nowhere: each of its records is made one of a
 * private kind, 0x85, which a reader has to step over.
 *
 * @source MCAP specification, "Records": opcodes from 0x80 on are for the applications
 */
async function withoutChannel(lost: number, options: McapOptions): Promise<Buffer> {
  // 20 poses on channel 0, 7 on channel 1, 4 on channel 2
  const bytes = await buildMcap(
    [
      ...cdrPoses(20),
      ...cdrPoses(7, { topic: "/mocap/tool", first: 100 }),
      ...cdrPoses(4, { topic: "/mocap/wall", first: 200 }),
    ],
    options,
  );
  const builder = new McapRecordBuilder();
  builder.writeChannel({
    id: lost,
    schemaId: 1,
    topic: ["/mocap/airframe", "/mocap/tool", "/mocap/wall"][lost]!,
    messageEncoding: "cdr",
    metadata: new Map(),
  });
  const record = builder.buffer;
  let found = 0;
  for (let at = bytes.indexOf(record); at >= 0; at = bytes.indexOf(record, at + 1)) {
    bytes[at] = 0x85;
    found++;
  }
  expect(found).toBeGreaterThan(0);
  // no checksums: neither of chunks nor of the summary
  for (const { op, position } of recordsOf(bytes)) if (op === 6) bytes.fill(0, position + 33, position + 37);
  bytes.fill(0, bytes.length - 12, bytes.length - 8);
  return bytes;
}

const forms: [string, McapOptions][] = [
  ["with a summary", {}],
  ["without channels in the summary", { writer: { repeatChannels: false } }],
  ["without chunks", { writer: { useChunks: false } }],
  ["without an index", { writer: { useChunkIndex: false, useStatistics: false, useMessageIndex: false } }],
];

for (const [name, options] of forms)
  test(`messages of a channel that is declared nowhere are counted (${name})`, async () => {
    for (const [lost, count] of [
      [1, 7],
      [2, 4],
    ] as const) {
      const path = join(folder, `lost-${lost}.mcap`);
      writeFileSync(path, await withoutChannel(lost, options));
      const told = `${count} message(s) are not read: their channel(s) (${lost}) are declared nowhere`;
      const recording = await readLog([path], [request]);
      expect(recording.signals.get("vehicle_pose")!.columns.x).toHaveLength(20);
      expect(recording.recovered).toBe(told);
      const survey = await surveyLog(path);
      expect(survey.recovered).toBe(told);
      expect(survey.messages).toBe(20 + 7 + 4 - count);
    }
  });
