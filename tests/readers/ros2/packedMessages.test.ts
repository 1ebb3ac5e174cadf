import { mkdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { readLog, readStamps, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { buildMcap, cdrPoses, type McapMessage } from "../mcap/buildMcap.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

// Messages are packed by zstd itself (as WebAssembly) and put into files by the formats' own libraries.

const folder = temporaryFolder();
const request = { signal: "vehicle_pose", topic: "/mocap/airframe" } as const;
const zstd = createRequire(import.meta.url)("@foxglove/wasm-zstd") as {
  isLoaded: Promise<unknown>;
  compress(bytes: Uint8Array): Uint8Array;
};

beforeAll(() => zstd.isLoaded);

function packed(messages: readonly McapMessage[]): McapMessage[] {
  return messages.map((message) => ({ ...message, data: Buffer.from(zstd.compress(Buffer.from(message.data))) }));
}

function put(name: string, bytes: Uint8Array, metadata?: string): string {
  const path = join(folder, name);
  mkdirSync(path);
  writeFileSync(join(path, `${name}_0.mcap`), bytes);
  if (metadata !== undefined)
    writeFileSync(
      join(path, "metadata.yaml"),
      `rosbag2_bagfile_information:\n  compression_mode: "${metadata}"\n  relative_file_paths: [${name}_0.mcap]\n`,
    );
  return path;
}

const counted = (count: number): number[] => Array.from({ length: count }, (_, i) => i);

test("messages packed one by one are recognised without metadata.yaml, with one that does not say so, and in a file alone", async () => {
  const bytes = await buildMcap(packed([...cdrPoses(40), ...cdrPoses(10, { topic: "/mocap/tool", first: 100 })]));
  const bare = put("bare", bytes);
  for (const [path, told] of [
    [bare, "there is no metadata.yaml: the files are read in the order of their names"],
    [put("silent", bytes, ""), null],
    [put("says", bytes, "MESSAGE"), null],
    [join(bare, "bare_0.mcap"), null],
  ] as const) {
    const { signals, recovered } = await readLog([path], [request]);
    expect(recovered).toBe(told);
    const { columns, frameId } = signals.get("vehicle_pose")!;
    expect([...columns.x!]).toEqual(counted(40));
    expect(frameId).toBe("arena");
    const survey = await surveyLog(path);
    expect(survey.compression).toEqual(["zstd (messages)"]);
    expect(survey.topics.map(({ messages }) => messages)).toEqual([40, 10]);
    expect((await readStamps(path, [request.topic])).topics.get(request.topic)!.stamped!.seconds).toHaveLength(40);
  }
});

test("messages that are not packed, in a bag that says they are or among others, are read as they are", async () => {
  const plain = cdrPoses(40);
  const mixed = packed(plain).map((message, i) => (i % 3 === 1 ? plain[i]! : message));
  for (const [name, messages] of [
    ["plain", plain],
    ["mixed", mixed],
  ] as const) {
    const { signals, recovered } = await readLog([put(name, await buildMcap(messages), "MESSAGE")], [request]);
    expect(recovered).toBeNull();
    expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(counted(40));
  }
  const untouched = await surveyLog(put("untouched", await buildMcap(plain), ""));
  expect(untouched.compression).toEqual(["none"]);
});

test("packed messages that are damaged, or claim what cannot be, are counted", async () => {
  const messages = packed(cdrPoses(12)).map((message, i) => {
    const data = Buffer.from(message.data);
    if (i === 3) return { ...message, data: data.subarray(0, data.length - 8) };
    // a content size of eight bytes (RFC 8878, section 3.1.1.1): a terabyte
    if (i === 5) return { ...message, data: Buffer.from("28b52ffde000000000000100000100000000", "hex") };
    return message;
  });
  const { signals, recovered } = await readLog([put("damaged", await buildMcap(messages), "MESSAGE")], [request]);
  expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual([0, 1, 2, 4, 6, 7, 8, 9, 10, 11]);
  expect(recovered).toBe("2 message(s) cannot be unpacked");
});

describeWith(["scipy"], "an SQLite bag, written by Python's sqlite3", () => {
  test("whose messages are packed one by one is recognised in its folder and alone", async () => {
    const path = join(folder, "database");
    mkdirSync(path);
    const messages = packed(cdrPoses(40));
    runPython<null>(
      `
import json, sqlite3, sys
path, rows = json.load(sys.stdin)
database = sqlite3.connect(path)
database.execute("CREATE TABLE topics(id INTEGER PRIMARY KEY,name TEXT NOT NULL,type TEXT NOT NULL,serialization_format TEXT NOT NULL,offered_qos_profiles TEXT NOT NULL)")
database.execute("CREATE TABLE messages(id INTEGER PRIMARY KEY,topic_id INTEGER NOT NULL,timestamp INTEGER NOT NULL, data BLOB NOT NULL)")
database.execute("insert into topics values (1, '/mocap/airframe', 'geometry_msgs/msg/PoseStamped', 'cdr', '')")
for time, data in rows:
    database.execute("insert into messages(topic_id, timestamp, data) values (1, ?, ?)", (int(time), bytes.fromhex(data)))
database.commit()
print("null")
`,
      [
        join(path, "database_0.db3"),
        messages.map(({ logTime, data }) => [String(logTime), Buffer.from(data).toString("hex")]),
      ],
    );
    for (const log of [path, join(path, "database_0.db3")]) {
      const { signals } = await readLog([log], [request]);
      expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(counted(40));
      expect((await surveyLog(log)).compression).toEqual(["zstd (messages)"]);
    }
  });
});
