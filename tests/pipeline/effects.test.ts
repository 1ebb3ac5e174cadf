import { spawnSync } from "node:child_process";
import {
  lstatSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { writeExclusions } from "../../src/pipeline/writeExclusions.ts";
import { shortManifest } from "./shortCampaign.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-effects-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

test("behind a link its file is written, and the link stays", async () => {
  mkdirSync(join(folder, "results"));
  writeFileSync(join(folder, "results/whole.json"), "old");
  symlinkSync("results/whole.json", join(folder, "evaluation.json"));
  await diskEffects.writeAtomically(join(folder, "evaluation.json"), "new");
  expect(lstatSync(join(folder, "evaluation.json")).isSymbolicLink()).toBe(true);
  expect(readFileSync(join(folder, "results/whole.json"), "utf8")).toBe("new");
});

test("parts of processes that are gone are taken away, that of one that runs and what is no part stays", async () => {
  // a process that has ended
  const gone = spawnSync(process.execPath, ["-e", ""]).pid;
  for (const name of [`a.json.${gone}.part`, `a.json.${process.ppid}.part`, "a.json.old.part", `b.json.${gone}.part`])
    writeFileSync(join(folder, name), "half");
  await diskEffects.writeAtomically(join(folder, "a.json"), "whole");
  expect(readdirSync(folder).sort()).toEqual(
    ["a.json", `a.json.${process.ppid}.part`, "a.json.old.part", `b.json.${gone}.part`].sort(),
  );
});

test("a pipe is refused as a text and not waited for", async () => {
  const path = join(folder, "runs.csv");
  spawnSync("mkfifo", [path]);
  await expect(diskEffects.readText(path)).rejects.toThrow("found a device or a pipe");
});

test("exclusions that a person edits at the same moment keep both words", async () => {
  const manifest = join(folder, "campaign.yaml");
  const path = join(folder, "exclusions.yaml");
  writeFileSync(manifest, shortManifest(["1.bag", "2.bag"]));
  let reads = 0;
  const effects = {
    ...diskEffects,
    readText: async (file: string): Promise<string> => {
      const text = await diskEffects.readText(file);
      // saved just after the page read it for the first time
      if (file === path && reads++ === 0)
        writeFileSync(path, 'exclusions:\n  - { run: "1", reason: arm jammed }\n  - { run: "2", reason: gust }\n');
      return text;
    },
  };
  writeFileSync(path, 'exclusions:\n  - { run: "1", reason: arm jammed }\n');
  const decision = { include: false, reason: "tether caught", at: null };
  const now = await writeExclusions(manifest, { run: "1", decision }, effects);
  expect(now.map(({ run, reason }) => `${run} ${reason}`)).toEqual(["1 tether caught", "2 gust"]);
  expect(readFileSync(path, "utf8")).toContain("gust");
});
