import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";
import type { SimulatedFlight } from "../../../src/simulation/simulateFlight.ts";
import { buildBag } from "../../support/writeBag.ts";
import { flightMessages } from "../flightBag.ts";
import { shortFlight } from "../shortCampaign.ts";
import { flightTable } from "./flightTable.ts";

// Two recorders that count from their own start. Which logs are of one flight is known by which simulated flight they hold.

const scratch = mkdtempSync(join(tmpdir(), "counterpoise-motion-"));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));
const flight = (seed: number): SimulatedFlight =>
  shortFlight(seed, { start: 5_000_000_000n, timeline: { hold: 8, pause: 1, rest: 2, takeOff: true } });
const capture = (seed: number): string => flightTable(flight(seed), ["vehicle_pose"]);
const onboard = (seed: number): Buffer =>
  buildBag(
    flightMessages(flight(seed)).filter(({ topic }) => !topic.startsWith("/mocap")),
    { perChunk: 2000 },
  ).bytes;

async function draftOf(name: string, files: Readonly<Record<string, string | Buffer>>): Promise<string> {
  for (const [path, bytes] of Object.entries(files)) {
    mkdirSync(join(scratch, name, path, ".."), { recursive: true });
    writeFileSync(join(scratch, name, path), bytes);
  }
  return (await inspectFolder(join(scratch, name))).manifest;
}
const pairsOf = (manifest: string): string[] =>
  [...manifest.matchAll(/logs: \{ mocap: (\S+), onboard: (\S+) \}/g)].map(([, one, other]) => `${one} ${other}`);

test("logs without dates and with names that say nothing are paired by their motion, and one without a partner stays alone", async () => {
  const manifest = await draftOf("nothing", {
    "cap/anna.csv": capture(1),
    "cap/bert.csv": capture(2),
    "cap/carl.csv": capture(3),
    "cap/dora.csv": capture(4),
    "rec/zeta.bag": onboard(3),
    "rec/eta.bag": onboard(1),
    "rec/theta.bag": onboard(2),
  });
  expect(pairsOf(manifest)).toEqual([
    "cap/anna.csv rec/eta.bag",
    "cap/bert.csv rec/theta.bag",
    "cap/carl.csv rec/zeta.bag",
  ]);
  expect(manifest).toContain("# logs paired by their motion: check each pair");
  expect(manifest).toMatch(/left out, a capture without the onboard log of its flight.*cap\/dora\.csv/);
}, 60_000);

test("names that lie: what moved alike goes together, whatever the numbers say", async () => {
  const manifest = await draftOf("lies", {
    "take_1.csv": capture(1),
    "take_2.csv": capture(2),
    "take_3.csv": capture(3),
    "log_1.bag": onboard(2),
    "log_2.bag": onboard(3),
    "log_3.bag": onboard(1),
  });
  expect(pairsOf(manifest)).toEqual(["take_1.csv log_3.bag", "take_2.csv log_1.bag", "take_3.csv log_2.bag"]);
}, 60_000);
