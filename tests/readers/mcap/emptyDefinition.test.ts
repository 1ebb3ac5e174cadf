import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "@foxglove/rosmsg";
import { MessageWriter } from "@foxglove/rosmsg2-serialization";
import { expect, test } from "vitest";
import { readLog, readStamps } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { buildMcap, cdrPoses, type McapMessage, type McapOptions } from "./buildMcap.ts";
import { definitionOf } from "./definitions.ts";

const folder = temporaryFolder();

// A recorder that does not find the definition of a type writes an empty one, some without naming its encoding.
const encodings = ["ros2msg", "", "unknown"];
const layouts: [string, McapOptions][] = [
  ["by the index", { compression: "zstd" }],
  ["by a scan", { writer: { useChunks: false } }],
];

for (const schemaEncoding of encodings)
  for (const [name, options] of layouts) {
    const bare = (messages: readonly McapMessage[]): McapMessage[] =>
      messages.map((message) => ({ ...message, definition: "", schemaEncoding }));
    const write = async (messages: readonly McapMessage[]): Promise<string> => {
      const path = join(folder, "empty.mcap");
      writeFileSync(path, await buildMcap(bare(messages), options));
      return path;
    };

    test(`fields of a type whose definition is empty are found by the built-in one (encoding "${schemaEncoding}", ${name})`, async () => {
      const fields = { x: "pose.position.z", y: "pose.position.y", z: "pose.position.x" };
      const path = await write(cdrPoses(12));
      const { signals, missing, recovered } = await readLog(
        [path],
        [{ signal: "vehicle_pose", topic: "/mocap/airframe", fields }],
      );
      expect(missing).toEqual([]);
      expect(recovered).toBeNull();
      // `cdrPoses` puts each pose at (its number, -1, 2.5)
      expect([...signals.get("vehicle_pose")!.columns.z!]).toEqual(Array.from({ length: 12 }, (_, i) => i));
      expect([...signals.get("vehicle_pose")!.columns.x!]).toEqual(Array(12).fill(2.5));
      const stamps = (await readStamps(path, ["/mocap/airframe"])).topics.get("/mocap/airframe")!;
      expect(stamps.stamped?.seconds).toHaveLength(12);
    });

    test(`fields behind arrays and strings of a written state (encoding "${schemaEncoding}", ${name})`, async () => {
      // serialised by the format's own library, from the definition that the file does not hold
      const writer = new MessageWriter(parse(definitionOf("sensor_msgs/JointState"), { ros2: true }));
      const path = await write(
        [1, 2, 3].map((k) => ({
          topic: "/arm",
          type: "sensor_msgs/msg/JointState",
          logTime: 1_700_000_000_000_000_000n + BigInt(k),
          data: writer.writeMessage({
            header: { stamp: { sec: k, nanosec: 0 }, frame_id: "arm" },
            name: ["shoulder", "elbow"],
            position: [k / 4, -k / 8],
            velocity: [],
            effort: [k],
          }),
        })),
      );
      const fields = { x: "position[0]", y: "position[1]", z: "effort[0]" };
      const { signals, missing } = await readLog([path], [{ signal: "effector_pose", topic: "/arm", fields }]);
      expect(missing).toEqual([]);
      const { x, y, z } = signals.get("effector_pose")!.columns;
      expect([[...x!], [...y!], [...z!]]).toEqual([
        [0.25, 0.5, 0.75],
        [-0.125, -0.25, -0.375],
        [1, 2, 3],
      ]);
    });
  }

test("a type that is not built in, and messages that are no CDR, are reported as before", async () => {
  const path = join(folder, "unknown.mcap");
  const pose = cdrPoses(1)[0]!;
  writeFileSync(
    path,
    await buildMcap([
      { ...pose, type: "lab_msgs/msg/Tip", definition: "" },
      { ...pose, topic: "/other", encoding: "json", definition: "" },
    ]),
  );
  const fields = { x: "a", y: "b", z: "c" };
  const { missing } = await readLog(
    [path],
    [
      { signal: "vehicle_pose", topic: "/mocap/airframe", fields },
      { signal: "effector_pose", topic: "/other", fields },
    ],
  );
  expect(missing.map(({ reason }) => reason)).toEqual(["wrong-type", "wrong-type"]);
});
