import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";
import { buildMcap } from "../../readers/mcap/buildMcap.ts";

const day = mkdtempSync(join(tmpdir(), "counterpoise-copies-"));
afterAll(() => rmSync(day, { recursive: true, force: true }));

/** A ROS 2 bag of one topic whose points lie at `x`, in CDR: stamp, frame "m", three doubles. */
async function writeBag(name: string, x: number): Promise<void> {
  const messages = Array.from({ length: 40 }, (_, k) => {
    const data = Buffer.alloc(4 + 16 + 24);
    data[1] = 1;
    data.writeUInt32LE(1_760_000_000 + k, 4);
    data.writeUInt32LE(2, 12);
    data.write("m", 16);
    data.writeDoubleLE(x + k, 20);
    const logTime = BigInt(1_760_000_000 + k) * 1_000_000_000n;
    return { topic: "/mocap/airframe", type: "geometry_msgs/msg/PointStamped", logTime, data };
  });
  mkdirSync(join(day, name));
  writeFileSync(join(day, name, `${name}_0.mcap`), await buildMcap(messages));
  writeFileSync(
    join(day, name, "metadata.yaml"),
    `rosbag2_bagfile_information:\n  relative_file_paths: [${name}_0.mcap]\n`,
  );
}

test("a bag's folder that was copied is no second flight; one that is as long is", async () => {
  await writeBag("take_1", 0);
  await writeBag("take_2", 1);
  cpSync(join(day, "take_1"), join(day, "take_1 again"), { recursive: true });
  writeFileSync(join(day, "take_1 again", "notes.md"), "copied by hand\n");
  const { logs, manifest } = await inspectFolder(day);
  expect(logs.map(({ path, same_as }) => [path, same_as])).toEqual([
    ["take_1", null],
    ["take_1 again", "take_1"],
    ["take_2", null],
  ]);
  expect(manifest).toMatch(/# left out, the same bytes as take_1: log: "?take_1 again"?$/m);
});
