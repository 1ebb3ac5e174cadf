import { mkdirSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { expect, test } from "vitest";
import { bagFolder } from "../../../src/readers/ros2/bagFolder.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();

function filesOf(name: string, contents: Readonly<Record<string, string>>): string[] {
  const path = join(folder, name);
  mkdirSync(path);
  for (const [file, text] of Object.entries(contents)) writeFileSync(join(path, file), text);
  return bagFolder(path).files.map((file) => basename(file));
}

const metadata = (...paths: string[]): string =>
  `rosbag2_bagfile_information:\n  relative_file_paths: [${paths.join(", ")}]\n`;

test("a file that the metadata list twice is read once", () => {
  expect(filesOf("twice", { "metadata.yaml": metadata("b_0.db3", "b_0.db3"), "b_0.db3": "" })).toEqual(["b_0.db3"]);
  expect(filesOf("moved", { "metadata.yaml": metadata("x/b_0.db3", "y/b_0.db3"), "b_0.db3": "" })).toEqual(["b_0.db3"]);
});

test("a packed file beside what was unpacked from it is read once, with metadata and without", () => {
  const both = { "b_0.db3": "", "b_0.db3.zstd": "", "b_1.db3.zstd": "" };
  expect(filesOf("bare", both)).toEqual(["b_0.db3", "b_1.db3.zstd"]);
  expect(filesOf("told", { ...both, "metadata.yaml": metadata("b_0.db3.zstd", "b_1.db3.zstd") })).toEqual([
    "b_0.db3.zstd",
    "b_1.db3.zstd",
  ]);
  expect(filesOf("both", { ...both, "metadata.yaml": metadata("b_0.db3.zstd", "b_0.db3", "b_1.db3.zstd") })).toEqual([
    "b_0.db3",
    "b_1.db3.zstd",
  ]);
});
