import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { logsIn } from "../../../src/pipeline/inspect/logsIn.ts";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** The logs that are found in a folder of these files. */
async function found(...files: readonly string[]): Promise<string[]> {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-day-"));
  folders.push(folder);
  for (const file of files) {
    mkdirSync(dirname(join(folder, file)), { recursive: true });
    writeFileSync(join(folder, file), "");
  }
  return (await logsIn(folder)).paths;
}

// rosbag2 names a bag's parts "<folder>_<n>" and writes metadata.yaml when it closes the bag
test("a bag that was never closed is one log, split or not, with or without what its database left behind", async () => {
  expect(await found("take/take_0.db3", "take/take_1.db3", "take/take_1.db3-wal", "take/take_1.db3-shm")).toEqual([
    "take",
  ]);
  expect(await found("day/take/take_0.mcap", "day/take/take_1.mcap.zstd")).toEqual([join("day", "take")]);
  // a folder that was renamed after the flight
  expect(await found("flight 4/rosbag2_2025_10_14_0.db3")).toEqual(["flight 4"]);
});

test("bags that were taken out of their folders are logs of their own", async () => {
  const apart = ["bags/flight_0.db3", "bags/flight_1.db3"];
  expect(await found(...apart)).toEqual(apart.map((path) => join(path)));
  expect(await found("bags/bags_0.db3", "bags/flight.ulg")).toHaveLength(2);
  expect(await found("take_0.db3", "take_1.db3")).toHaveLength(2);
});

test("folders are entered however deep, and a link is what it leads to", async () => {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-day-"));
  const archive = mkdtempSync(join(tmpdir(), "counterpoise-archive-"));
  folders.push(folder, archive);
  mkdirSync(join(folder, "a/b/c/d/e/f"), { recursive: true });
  mkdirSync(join(archive, "day 2"));
  for (const file of ["a/b/c/d/e/f/deep.bag", "one.bag"]) writeFileSync(join(folder, file), "");
  writeFileSync(join(archive, "day 2", "two.bag"), "");
  symlinkSync(join(folder, "one.bag"), join(folder, "other.bag"));
  symlinkSync(archive, join(folder, "0 archive"));
  const { paths, skipped } = await logsIn(folder);
  expect(paths).toEqual([
    join("a", "b", "c", "d", "e", "f", "deep.bag"),
    "one.bag",
    "other.bag",
    join("0 archive", "day 2", "two.bag"),
  ]);
  expect(skipped).toEqual([]);
});

test("what is not looked into is named with the reason, and a link that leads in a circle ends", async () => {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-day-"));
  folders.push(folder);
  mkdirSync(join(folder, "a/b"), { recursive: true });
  writeFileSync(join(folder, "a/b/deep.bag"), "");
  symlinkSync(join(folder, "a"), join(folder, "0 again"));
  symlinkSync(folder, join(folder, "a/b/up"));
  symlinkSync(join(folder, "gone.bag"), join(folder, "lost.bag"));
  const { paths, skipped } = await logsIn(folder);
  expect(paths).toEqual([join("a", "b", "deep.bag")]);
  expect(skipped).toEqual([
    { path: "lost.bag", why: "a link that leads nowhere" },
    { path: "0 again", why: "a link to a folder that is read already: a" },
    { path: join("a", "b", "up"), why: "a link to a folder that is read already" },
  ]);
});

test("what is called a log and is none is named as one that cannot be read; a note beside it is another file", async () => {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-day-"));
  folders.push(folder);
  for (const file of ["broken ä.bag", "note"]) writeFileSync(join(folder, file), new Uint8Array(4000).fill(0xa7));
  const { logs, others } = await inspectFolder(folder);
  expect(logs.map(({ path, error }) => [path, error !== null])).toEqual([["broken ä.bag", true]]);
  expect(others).toBe(1);
});
