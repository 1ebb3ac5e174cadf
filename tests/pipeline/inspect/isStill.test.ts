import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";
import { lookAtLog } from "../../../src/pipeline/inspectLog.ts";
import { type BagMessage, f64s, header, str, u32, writeBag } from "../../support/writeBag.ts";

const day = mkdtempSync(join(tmpdir(), "counterpoise-still-"));
afterAll(() => rmSync(day, { recursive: true, force: true }));

const start = 1_760_000_000;
const at = (i: number): [number, number] => [start + Math.floor(i / 100), (i % 100) * 10_000_000];

/** Poses at 100 Hz with 0.2 mm of noise about a place; `moved` metres along x at sample i. */
function poses(topic: string, count: number, moved: (i: number) => number, seed = 3): BagMessage[] {
  const random = seededRandom(seed);
  const noise = (): number => 2e-4 * random.normal();
  return Array.from({ length: count }, (_, i) => ({
    topic,
    type: "geometry_msgs/PoseStamped",
    md5: "d3812c3cbc69362b77dc0b19b345f8f5",
    received: at(i),
    data: Buffer.concat([
      header(at(i), "arena", i),
      f64s(2 + noise() + moved(i), -1 + noise(), 0.4 + noise(), 0, 0, 0, 1),
    ]),
  }));
}

let files = 0;
async function judged(messages: readonly BagMessage[]): Promise<boolean> {
  const path = join(day, `judged-${files++}.bag`);
  writeBag(path, messages);
  const { still: found } = (await lookAtLog(path)).sights;
  rmSync(path);
  return found;
}

const still = (): number => 0;

describe("a bag is that of a static capture", () => {
  test("where the vehicle's body stays within some millimetres", async () => {
    expect(await judged(poses("/mocap/airframe", 300, still))).toBe(true);
    expect(await judged([...poses("/mocap/airframe", 300, still), ...poses("/mocap/tool", 300, still, 8)])).toBe(true);
  });

  test("not where it drifts by a centimetre, jumps once, or is told where to be", async () => {
    expect(await judged(poses("/mocap/airframe", 300, (i) => (0.01 * i) / 300))).toBe(false);
    expect(await judged(poses("/mocap/airframe", 300, (i) => (i === 150 ? 0.02 : 0)))).toBe(false);
    expect(
      await judged([...poses("/mocap/airframe", 300, still), ...poses("/onboard/hold_point", 300, still, 9)]),
    ).toBe(false);
  });

  test("not where the tool moves or is told to, where too little was seen, or a body was never seen at all", async () => {
    const vehicle = poses("/mocap/airframe", 300, still);
    expect(await judged([...vehicle, ...poses("/mocap/tool", 300, (i) => i / 1000)])).toBe(false);
    expect(await judged([...vehicle, ...poses("/arm/goal", 300, still, 9)])).toBe(false);
    expect(await judged(poses("/mocap/airframe", 5, still))).toBe(false);
    const lost = vehicle.map((message, i) => ({
      ...message,
      data: Buffer.concat([header(at(i), "arena", i), f64s(0, 0, 0, 0, 0, 0, 1)]),
    }));
    expect(await judged(lost)).toBe(false);
  });

  test("of a transform tree where all of its children rest, whichever is the vehicle", async () => {
    const tree = (...children: string[]): BagMessage[] =>
      Array.from({ length: 50 }, (_, i) => ({
        topic: "/tf",
        type: "tf2_msgs/TFMessage",
        md5: "94810edda583a504dfda3829e70d7eec",
        received: at(i),
        data: Buffer.concat([
          u32(children.length),
          ...children.map((child) =>
            Buffer.concat([header(at(i), "arena", i), str(child), f64s(1 + 1e-4 * (i % 7), 2, 3, 0, 0, 0, 1)]),
          ),
        ]),
      }));
    expect(await judged(tree("airframe"))).toBe(true);
    expect(await judged(tree("airframe", "tool"))).toBe(true);
  });
});

test("the draft of a flight day names its static captures, and the flights as runs", async () => {
  const setpoints = poses("/onboard/hold_point", 300, still, 9);
  writeBag(join(day, "flight-1.bag"), [...poses("/mocap/airframe", 300, (i) => i / 1000), ...setpoints]);
  writeBag(join(day, "flight-2.bag"), [...poses("/mocap/airframe", 300, (i) => i / 2000), ...setpoints]);
  writeBag(join(day, "before.bag"), poses("/mocap/airframe", 300, still));
  const { manifest } = await inspectFolder(day);
  expect(manifest).toMatch(/^static_captures: \[before\.bag\]/m);
  expect(manifest).toMatch(/^ {2}- \{ log: flight-1\.bag/m);
  expect(manifest).toMatch(/^ {2}- \{ log: flight-2\.bag/m);
  expect(manifest).not.toMatch(/^ {2}- \{ log: before\.bag/m);
});
