import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { type Axis, axes } from "../../src/foundation/tracks.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { type BagMessage, buildBag, f32s, f64s, u8, u16s } from "../support/writeBag.ts";
import { flightMessages } from "./flightBag.ts";
import { checksOf, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-logs-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const bag = (name: string, messages: readonly BagMessage[]): void =>
  writeFileSync(join(folder, name), buildBag(messages, { perChunk: 500 }).bytes);
async function evaluate(manifest: string) {
  writeFileSync(join(folder, "campaign.yaml"), manifest);
  return evaluateCampaign(join(folder, "campaign.yaml"));
}
const withRuns = (manifest: string, ...runs: string[]): string =>
  `${manifest.slice(0, manifest.indexOf("runs:\n"))}runs:\n${runs.map((run) => `  - { ${run} }\n`).join("")}`;

const first = shortFlight(1);
const second = shortFlight(2, { start: shortSettings().start + 60_000_000_000n });
const orbit = "configuration: bare, trajectory: orbit";

test("two runs in one log, distinguished by their spans, come out as each does from a log of its own", async () => {
  bag("both.bag", [...flightMessages(first), ...flightMessages(second)]);
  bag("first.bag", flightMessages(first));
  bag("second.bag", flightMessages(second));
  const manifest = shortManifest([]);
  const together = await evaluate(
    withRuns(
      manifest,
      `log: both.bag, id: one, ${orbit}, span: [0 s, 30 s]`,
      `log: both.bag, id: two, ${orbit}, span: [50 s, 90 s]`,
    ),
  );
  const apart = await evaluate(
    withRuns(manifest, `log: first.bag, id: one, ${orbit}`, `log: second.bag, id: two, ${orbit}`),
  );
  for (const evaluation of [together, apart])
    for (const run of evaluation.runs) {
      expect(run.used).toBe(true);
      expect(run.windows.cycles).toHaveLength(6);
    }
  expect(together.runs.map(({ epoch }) => epoch)).toEqual(apart.runs.map(({ epoch }) => epoch));
  for (const [i, run] of together.runs.entries()) {
    // the clock is searched from another start, which moves its offset by a fraction of its standard error (0.1 ms at
    // most); at 0.25 m/s that is 25 um
    for (const subject of ["vehicle", "effector", "arm"] as const)
      for (const axis of axes)
        expect(
          Math.abs(run.tracking.cycles![subject]![axis].rms - apart.runs[i]!.tracking.cycles![subject]![axis].rms),
        ).toBeLessThan(2.5e-5);
  }
});

test("a log of the motion capture and one from onboard, each on its own clock", async () => {
  const isCapture = ({ topic }: BagMessage): boolean => topic.startsWith("/mocap");
  bag("capture.bag", flightMessages(first).filter(isCapture));
  bag(
    "onboard.bag",
    flightMessages(first).filter((message) => !isCapture(message)),
  );
  bag("first.bag", flightMessages(first));
  const manifest = shortManifest([]);
  const one = await evaluate(withRuns(manifest, `log: first.bag, id: run, ${orbit}`));
  const named = manifest
    .replaceAll("clock: mocap }", "clock: mocap, log: capture }")
    .replaceAll(/clock: onboard(, frame: arm_base)? }/g, "clock: onboard$1, log: onboard }");
  const two = await evaluate(
    withRuns(named, `logs: { capture: capture.bag, onboard: onboard.bag }, id: run, ${orbit}`),
  );
  expect(two.runs[0]!.log).toEqual(["capture.bag", "onboard.bag"]);
  expect(two.runs[0]!.used).toBe(true);
  // searched from another start: a fraction of the standard error
  expect(Math.abs(two.runs[0]!.clocks.mocap!.offset - one.runs[0]!.clocks.mocap!.offset)).toBeLessThan(1e-4);
  // the known offset of the simulation
  expect(Math.abs(two.runs[0]!.clocks.mocap!.offset - first.truth.clock.offset)).toBeLessThan(5e-3);
  expect(two.runs[0]!.windows.cycles).toEqual(one.runs[0]!.windows.cycles);
  for (const axis of axes) {
    const [found, known] = [two, one].map((evaluation) => evaluation.runs[0]!.tracking.cycles!.effector![axis].rms);
    // 0.1 ms at 0.25 m/s
    expect(Math.abs(found! - known!)).toBeLessThan(2.5e-5);
  }
  // as seen from the manifest: where the program was started does not show
  expect(two.inputs.map(({ path }) => path)).toEqual(["campaign.yaml", "capture.bag", "onboard.bag"]);
});

test("two flights in two logs that began at different times, each distinguished by spans of its own", async () => {
  const isCapture = ({ topic }: BagMessage): boolean => topic.startsWith("/mocap");
  const all = [...flightMessages(first), ...flightMessages(second)];
  const onboard = all.filter((message) => !isCapture(message));
  // the capture was started three seconds after the recorder on board
  const late = onboard[0]!.received[0] + 3;
  bag(
    "capture-of-two.bag",
    all.filter((message) => isCapture(message) && message.received[0] >= late),
  );
  bag("onboard-of-two.bag", onboard);
  const named = shortManifest([])
    .replaceAll("clock: mocap }", "clock: mocap, log: capture }")
    .replaceAll(/clock: onboard(, frame: arm_base)? }/g, "clock: onboard$1, log: onboard }");
  const logs = `logs: { capture: capture-of-two.bag, onboard: onboard-of-two.bag }, ${orbit}`;
  const { runs } = await evaluate(
    withRuns(
      named,
      `id: one, ${logs}, span: { capture: [0 s, 27 s], onboard: [0 s, 30 s] }`,
      `id: two, ${logs}, span: { capture: [47 s, 87 s], onboard: [50 s, 90 s] }`,
    ),
  );
  for (const [i, flight] of [first, second].entries()) {
    expect(runs[i]!.used).toBe(true);
    expect(runs[i]!.windows.cycles).toHaveLength(6);
    // the known offset of the simulation
    expect(Math.abs(runs[i]!.clocks.mocap!.offset - flight.truth.clock.offset)).toBeLessThan(5e-3);
  }
});

test("one log of two missing: unusable, and it is that one that is named", async () => {
  bag(
    "capture.bag",
    flightMessages(first).filter(({ topic }) => topic.startsWith("/mocap")),
  );
  const named = shortManifest([])
    .replaceAll("clock: mocap }", "clock: mocap, log: capture }")
    .replaceAll(/clock: onboard(, frame: arm_base)? }/g, "clock: onboard$1, log: onboard }");
  const { runs } = await evaluate(
    withRuns(named, `logs: { capture: capture.bag, onboard: lost.bag }, id: run, ${orbit}`),
  );
  const [check] = checksOf(runs[0]!, "log-unreadable");
  expect(check!.message).toMatch(/lost\.bag: found no such file/);
  expect(runs[0]!.used).toBe(false);
});

test("the parts of a split recording are one run", async () => {
  const messages = flightMessages(first);
  const half = messages.length >> 1;
  bag("part-0.bag", messages.slice(0, half));
  bag("part-1.bag", messages.slice(half));
  bag("first.bag", messages);
  const parts = await evaluate(withRuns(shortManifest([]), `log: [part-0.bag, part-1.bag], id: run, ${orbit}`));
  const whole = await evaluate(withRuns(shortManifest([]), `log: first.bag, id: run, ${orbit}`));
  expect(parts.runs[0]!.log).toEqual(["part-0.bag", "part-1.bag"]);
  expect({ ...parts.runs[0]!, log: [] }).toEqual({ ...whole.runs[0]!, log: [] });
});

/** A mavros_msgs/PositionTarget in the local frame; masked: x, y and z to be ignored, and zero in the message. */
function positionTarget(message: BagMessage, masked: boolean): BagMessage {
  const body = message.data.subarray(message.data.length - 56);
  const view = new DataView(body.buffer, body.byteOffset, 56);
  const at = masked ? [0, 0, 0] : [0, 8, 16].map((place) => view.getFloat64(place, true));
  // mask: velocity (8, 16, 32), acceleration (64, 128, 256), yaw rate (2048), and position (1, 2, 4) where masked
  const mask = 8 + 16 + 32 + 64 + 128 + 256 + 2048 + (masked ? 7 : 0);
  const head = Buffer.from(message.data.subarray(0, message.data.length - 56));
  return {
    ...message,
    type: "mavros_msgs/PositionTarget",
    md5: "dedb0081aaf8cb20209737746bb49117",
    data: Buffer.concat([head, u8(1), u16s(mask), f64s(...at), f64s(0, 0, 0, 0, 0, 0), f32s(0, 0)]),
  };
}

/** Root mean square of the vehicle's true error over the cycles but for a stretch. */
function trueRmsWithout(axis: Axis, from: number, to: number): { known: number; n: number } {
  const { samples, cycleStart, cycles, period } = first.truth;
  const column = samples.errors.vehicle[axes.indexOf(axis)]!;
  const kept = column.filter((_, i) => {
    const t = samples.time[i]!;
    return t >= cycleStart && t < cycleStart + cycles * period && !(t >= from && t < to);
  });
  return { known: Math.sqrt(kept.reduce((sum, value) => sum + value * value, 0) / kept.length), n: kept.length };
}

test("a masked setpoint is never read as 0: what it does not command is not scored", async () => {
  const start = Number(shortSettings().start / 1_000_000_000n);
  // 12.0 to 12.5 s, in the cycles
  const isMasked = ({ received: [sec, nsec] }: BagMessage): boolean => {
    const t = sec - start + nsec / 1e9;
    return t >= 12 && t < 12.5;
  };
  const retyped = (masks: boolean): BagMessage[] =>
    flightMessages(first).map((message) =>
      message.topic === "/onboard/hold_point" ? positionTarget(message, masks && isMasked(message)) : message,
    );
  bag("given.bag", retyped(false));
  bag("masked.bag", retyped(true));
  const { runs } = await evaluate(
    withRuns(shortManifest([]), `log: given.bag, id: given, ${orbit}`, `log: masked.bag, id: masked, ${orbit}`),
  );
  const [given, masked] = runs;
  // the setpoint stands 1.5 m above the ground: read as 0 it would make a maximum of that size
  for (const axis of axes) {
    const [whole, part] = [given!.tracking.cycles!.vehicle![axis], masked!.tracking.cycles!.vehicle![axis]];
    expect(part.max_abs).toBeLessThanOrEqual(whole.max_abs);
    const { known, n } = trueRmsWithout(axis, 12, 12.5);
    const noise = first.truth.noise.vehicle[axes.indexOf(axis)]!;
    // white noise adds its variance, 5 sd of the cross term; a setpoint interval (20 ms of 8.5 s) either way: 0.5 %
    expect(Math.abs(part.rms - Math.hypot(known, noise))).toBeLessThan((5 * noise) / Math.sqrt(n) + 0.005 * known);
  }
  expect(given!.valid_fraction.vehicle).toBeGreaterThan(0.999);
  // at most one setpoint interval (20 ms) either way of 0.5 s
  expect(Math.abs(masked!.valid_fraction.vehicle! - (1 - 0.5 / 9.05))).toBeLessThan(0.021 / 9.05 + 0.002);
});
