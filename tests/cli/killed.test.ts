import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { parse } from "yaml";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { build, startProgram } from "../browser/startProgram.ts";
import { describeWith } from "../support/available.ts";
import { flightsOnDisk } from "../support/flightsOnDisk.ts";

/** Kills and full disks while the built program works: what was there stays whole. */

const program = join(build, "counterpoise.mjs");
const slow = process.env.COUNTERPOISE_SLOW === "1";
const random = seededRandom(7);
let folder: string;
const place = (name: string): string => join(folder, name);
const text = (name: string): string => (existsSync(place(name)) ? readFileSync(place(name), "utf8") : "");

let ids: readonly string[];
let askAgain: () => void;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-killed-"));
  ({ ids, askAgain } = flightsOnDisk(folder, 6));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const evaluate = (): ReturnType<typeof spawnSync> =>
  spawnSync(process.execPath, [program, "evaluate", place("campaign.yaml")], { encoding: "utf8" });
const temporaries = (): string[] => readdirSync(folder).filter((name) => /\.(part|lock)$/.test(name));

/** What may never be lost or torn. @returns the looks on record */
function checkWhole(looksBefore: readonly string[]): string[] {
  if (existsSync(place("evaluation.json"))) expect(JSON.parse(text("evaluation.json"))).toHaveProperty("schema");
  const looks = text("looks.jsonl").split("\n");
  expect(looks.pop()).toBe("");
  for (const look of looks) expect(JSON.parse(look)).toHaveProperty("at");
  expect(looks.slice(0, looksBefore.length)).toEqual(looksBefore);
  return looks;
}

describe("killed at any moment", () => {
  test("evaluate: the evaluation and the record of looks are whole, and the next start clears away what was left", async () => {
    const begun = performance.now();
    expect(evaluate().status).toBe(0);
    const whole = performance.now() - begun;
    let looks = checkWhole([]);
    expect(looks).toHaveLength(1);
    let killed = 0;
    for (let k = 0; k < (slow ? 100 : 5); k++) {
      askAgain();
      const child = spawn(process.execPath, [program, "evaluate", place("campaign.yaml")], { stdio: "ignore" });
      const ended = once(child, "exit") as Promise<[number | null, string | null]>;
      // half of them near the end, where files are written
      const share = k % 2 === 0 ? random.uniform() : 0.8 + 0.3 * random.uniform();
      setTimeout(() => child.kill("SIGKILL"), share * whole);
      if ((await ended)[1] === "SIGKILL") killed++;
      looks = checkWhole(looks);
    }
    expect(killed).toBeGreaterThan(0);
    askAgain();
    expect(evaluate().status).toBe(0);
    expect(checkWhole(looks)).toHaveLength(looks.length + 1);
    expect(temporaries()).toEqual([]);
  });

  test("serve, while it excludes and includes: every change it confirmed is kept", async () => {
    const kept = new Map<string, string>();
    let looks = checkWhole([]);
    for (let k = 0; k < (slow ? 100 : 4); k++) {
      const { address, kill } = await startProgram(place("campaign.yaml"));
      let doomed = false;
      for (let change = 0; ; change++) {
        const [run, reason] = [ids[change % ids.length]!, `change ${k}-${change}`];
        const response = await fetch(`${address}/api/exclusions`, {
          method: "POST",
          headers: { "Content-Type": "application/json", Origin: address },
          body: JSON.stringify({ run, include: false, reason }),
        }).catch(() => null);
        if (response === null) break;
        expect(response.status).toBe(202);
        kept.set(run, reason);
        if (!doomed) setTimeout(kill, 100 * random.uniform());
        doomed = true;
      }
      looks = checkWhole(looks);
      const found = existsSync(place("exclusions.yaml")) ? parse(text("exclusions.yaml")).exclusions : [];
      const reasons = new Map((found as { run: string; reason: string }[]).map((each) => [each.run, each.reason]));
      for (const [run, reason] of kept) {
        // the one that was under way may have been written and not yet confirmed
        const [, round, change] = /(\d+)-(\d+)/.exec(reasons.get(run) ?? "")!;
        const [, ownRound, ownChange] = /(\d+)-(\d+)/.exec(reason)!;
        expect(Number(round) * 1e6 + Number(change)).toBeGreaterThanOrEqual(Number(ownRound) * 1e6 + Number(ownChange));
      }
    }
    expect(kept.size).toBeGreaterThan(0);
    rmSync(place("exclusions.yaml"), { force: true });
    askAgain();
    expect(evaluate().status).toBe(0);
    expect(temporaries()).toEqual([]);
  });
});

describeWith(["namespaces"], "on a disk that is full, or may not be written to", () => {
  test("evaluate says so, and what was there stays", () => {
    mkdirSync(place("disk"));
    const script = `
      set -e
      mount -t tmpfs -o size=24m none disk
      cp *.bag campaign.yaml disk
      cd disk
      node="$1"; program="$2"
      "$node" "$program" evaluate campaign.yaml >/dev/null
      sha256sum evaluation.json looks.jsonl >../before
      sed -i 's/smallest_difference: .*/smallest_difference: 3 mm/' campaign.yaml
      dd if=/dev/zero of=filler bs=4k 2>/dev/null || true
      status=0; "$node" "$program" evaluate campaign.yaml >/dev/null 2>../full || status=$?; echo "full $status"
      sha256sum --quiet -c ../before; ls | grep -c part || true
      rm filler
      mount -o remount,ro .
      status=0; "$node" "$program" evaluate campaign.yaml >/dev/null 2>../readonly || status=$?; echo "read-only $status"
      sha256sum --quiet -c ../before
    `;
    const { stdout, stderr } = spawnSync("unshare", ["-rm", "sh", "-c", script, "sh", process.execPath, program], {
      cwd: folder,
      encoding: "utf8",
    });
    expect(stderr).toBe("");
    expect(stdout.split("\n")).toEqual(["full 2", "0", "read-only 2", ""]);
    expect(text("full")).toMatch(/cannot be written: ENOSPC/);
    expect(text("readonly")).toMatch(/cannot be written: EROFS/);
  });
});
