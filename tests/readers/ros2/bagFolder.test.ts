import { mkdirSync, writeFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { expect, test } from "vitest";
import { bagFolder } from "../../../src/readers/ros2/bagFolder.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();

function filesOf(name: string, contents: Readonly<Record<string, string>>): string[] {
  return read(name, contents).files;
}

function read(name: string, contents: Readonly<Record<string, string>>): { files: string[]; notes: readonly string[] } {
  const path = join(folder, name);
  for (const [file, text] of Object.entries(contents)) {
    mkdirSync(dirname(join(path, file)), { recursive: true });
    writeFileSync(join(path, file), text);
  }
  const { files, notes } = bagFolder(path);
  return { files: files.map((file) => basename(file)), notes };
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

// What is left out is what was put there and is not among the files; the words name each.
test("a twin that is not read is reported, packed or unpacked, with metadata and without", () => {
  const both = { "b_0.db3": "", "b_0.db3.zstd": "", "b_1.db3.zstd": "" };
  const told = (name: string): string =>
    `${name} not read: a file of that name is there packed and unpacked, and is read once`;
  expect(read("bare-twin", both).notes).toContain(told("b_0.db3.zstd"));
  const named = (...paths: string[]) =>
    read(`twin-${paths.length}-${paths[0]}`, { ...both, "metadata.yaml": metadata(...paths) });
  expect(named("b_0.db3.zstd", "b_1.db3.zstd").notes).toEqual([told("b_0.db3")]);
  expect(named("b_0.db3", "b_1.db3.zstd").notes).toEqual([told("b_0.db3.zstd")]);
  expect(named("b_0.db3.zstd", "b_0.db3", "b_1.db3.zstd").notes).toEqual([told("b_0.db3.zstd")]);
});

test("a file that metadata.yaml names in a folder within is reported, not taken for one beside it", () => {
  const inner = { "b_0.db3": "", "part/b_1.db3": "", "metadata.yaml": metadata("b_0.db3", "part/b_1.db3") };
  const told = (path: string): string =>
    `metadata.yaml names ${path}, in a folder within, which is not read: move it beside metadata.yaml`;
  expect(read("inner", inner)).toEqual({ files: ["b_0.db3"], notes: [told("part/b_1.db3")] });
  const same = { "b_0.db3": "", "part/b_0.db3": "", "metadata.yaml": metadata("b_0.db3", "part/b_0.db3") };
  expect(read("same-name", same)).toEqual({ files: ["b_0.db3"], notes: [told("part/b_0.db3")] });
  const windows = { "b_0.db3": "", "part/b_1.db3": "", "metadata.yaml": metadata("b_0.db3", "'part\\b_1.db3'") };
  expect(read("windows", windows).notes).toEqual([told("part\\b_1.db3")]);
});

test("the folder's own name before each file, as older versions wrote it, is no folder within", () => {
  const old = { "b_0.db3": "", "b_1.db3": "", "metadata.yaml": metadata("old/b_0.db3", "old/b_1.db3") };
  expect(read("old", old)).toEqual({ files: ["b_0.db3", "b_1.db3"], notes: [] });
  const outside = { "b_0.db3": "", "metadata.yaml": metadata("../old/b_1.db3", "b_0.db3") };
  expect(read("outside", outside)).toEqual({
    files: ["b_0.db3"],
    notes: ["metadata.yaml names b_1.db3, which is not there"],
  });
});

test("two files of one name, of which one is there, are reported", () => {
  const moved = { "b_0.db3": "", "metadata.yaml": metadata("x/b_0.db3", "y/b_0.db3") };
  expect(read("two", moved).notes).toEqual([
    "metadata.yaml names x/b_0.db3 and y/b_0.db3, of which one file is there, without a folder",
  ]);
});
