import { describe, expect, test } from "vitest";
import { buildCommandTrack, messagesOf } from "../../src/alignment/commandTrack.ts";
import { samplePoints, samplePoses } from "../../src/alignment/sampleTrack.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { evenTimes, signal } from "./signals.ts";

interface Wanted {
  readonly x?: Float64Array;
  readonly columns?: Record<string, Float64Array>;
  readonly given?: Record<string, Uint8Array>;
  readonly between?: "hold" | "linear" | null;
}

function build(t: Float64Array, { x = new Float64Array(t.length), columns = {}, given = {}, between = null }: Wanted) {
  const recorded: RecordedSignal = signal({
    signal: "vehicle_setpoint",
    at: t,
    columns: { x, y: new Float64Array(t.length), z: new Float64Array(t.length).fill(1.5), ...columns },
    given,
  });
  const order = Uint32Array.from(t, (_, i) => i);
  return buildCommandTrack(recorded, t, order, between, defaultSettings);
}

const at = (track: ReturnType<typeof build>, ...times: number[]): number[] => [
  ...samplePoints(track, Float64Array.from(times)).x,
];

describe("hold or linear", () => {
  test("a smooth command at 50 Hz is linear between its messages", () => {
    const t = evenTimes(50, 10);
    const track = build(t, { x: t.map((time) => 0.06 * Math.sin(4 * time)) });
    expect(track.between).toBe("linear");
    expect(track.t).toEqual(t);
    // by hand: the mean of the two neighbours
    const middle = (0.06 * Math.sin(4 * 3.2) + 0.06 * Math.sin(4 * 3.22)) / 2;
    expect(at(track, 3.21)[0]).toBeCloseTo(middle, 12);
  });

  test("a command that steps is held, and changes at its message to a microsecond", () => {
    const t = evenTimes(50, 10);
    const track = build(t, { x: t.map((time) => Math.floor(time / 2) * 0.1) });
    expect(track.between).toBe("hold");
    const [before, close, after] = at(track, 3.99, 4 - 2e-6, 4);
    expect([before, close, after]).toEqual([0.1, 0.1, 0.2]);
  });

  test("one that comes seldom is read as its messages look: a curve goes on, places taken at random hold", () => {
    const smooth = (rate: number): string => {
      const t = evenTimes(rate, 20);
      // 5 messages a turn, and more
      return build(t, { x: t.map((time) => 0.1 * Math.sin((2 * Math.PI * rate * time) / 5.3)) }).between;
    };
    expect([3, 4, 4.99, 5.01, 10].map(smooth)).toEqual(Array(5).fill("linear"));
    // at 1 Hz and slower it is places to be at
    expect([0.5, 1].map(smooth)).toEqual(["hold", "hold"]);
    const random = seededRandom(41);
    const t = evenTimes(4, 20);
    const track = build(t, { x: t.map(() => random.normal()) });
    expect(track.between).toBe("hold");
    expect(at(track, 5.2)[0]).toBe(track.x[track.t.indexOf(5)]);
  });

  test("a resting command is the same either way", () => {
    const t = evenTimes(50, 10);
    const x = new Float64Array(t.length).fill(0.4);
    const held = build(t, { x, between: "hold" });
    const linear = build(t, { x, between: "linear" });
    expect(at(held, 0.013, 5.001, 9.9)).toEqual(at(linear, 0.013, 5.001, 9.9));
  });

  test("what the manifest declares is kept", () => {
    const t = evenTimes(50, 4);
    const x = t.map((time) => 0.01 * time);
    expect(build(t, { x, between: "hold" }).between).toBe("hold");
    expect(at(build(t, { x, between: "hold" }), 2.019)[0]).toBe(0.02);
    const steps = t.map((time) => (time < 2 ? 0 : 1));
    const track = build(t, { x: steps, between: "linear" });
    expect(track.between).toBe("linear");
    // a quarter of the way from the message at 1.98 to that at 2.00
    expect(at(track, 1.985)[0]).toBeCloseTo(0.25, 9);
  });

  test("at 0.4 m/s and 50 Hz the choice is worth 4 mm on average (design, section 4)", () => {
    const t = evenTimes(50, 10);
    const x = t.map((time) => 0.4 * time);
    const times = evenTimes(1000, 8, 1);
    const held = samplePoints(build(t, { x, between: "hold" }), times).x;
    const linear = samplePoints(build(t, { x, between: "linear" }), times).x;
    const mean = linear.reduce((sum, value, i) => sum + value - held[i]!, 0) / times.length;
    // half an interval of 20 ms times 0.4 m/s is 4 mm; twenty instants per interval, 0 to 19 ms, give 3.8
    expect(mean).toBeCloseTo(0.4 * 0.0095, 6);
  });
});

describe("what is no command", () => {
  test("a masked position is not 0: the command ends at the message before it", () => {
    const t = evenTimes(50, 10);
    const mask = Uint8Array.from(t, (time) => (time >= 4 && time < 6 ? 0 : 1));
    const x = t.map((time) => (time >= 4 && time < 6 ? 0 : 0.4 + 0.001 * time));
    const track = build(t, { x, given: { x: mask }, between: "linear" });
    const [before, just, inside, last, after] = at(track, 3.98, 3.99, 5, 5.99, 6);
    expect(before).toBeCloseTo(0.40398, 12);
    expect([just, inside, last]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
    expect(after).toBeCloseTo(0.406, 12);
  });

  test.each(["x", "y", "z"])("one axis that is masked or NaN (%s) ends the command on all three", (axis) => {
    const t = evenTimes(50, 4);
    const spoiled = new Float64Array(t.length).map((_, i) => (i === 100 ? Number.NaN : 1));
    const track = build(t, { columns: { [axis]: spoiled } });
    const { x, y, z } = samplePoints(track, Float64Array.of(2));
    expect([x[0], y[0], z[0]]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
  });

  test("a message type without a position commands nothing", () => {
    const t = evenTimes(50, 2);
    const recorded = signal({ at: t, columns: { x: new Float64Array(t.length), y: new Float64Array(t.length) } });
    const track = buildCommandTrack(
      recorded,
      t,
      Uint32Array.from(t, (_, i) => i),
      null,
      defaultSettings,
    );
    expect([...track.x].filter(Number.isFinite)).toEqual([]);
  });

  test("nothing is interpolated across a silence between two different commands", () => {
    const t = evenTimes(50, 10).filter((time) => time < 4 || time >= 4.5);
    const track = build(t, { x: t.map((time) => 0.06 * Math.sin(4 * time)) });
    expect(track.between).toBe("linear");
    expect(track.breaks).toEqual([[t[199], 4.5]]);
    expect(at(track, 4.2)[0]).toBeNaN();
    expect(at(track, 4.6)[0]).not.toBeNaN();
  });

  test("a silence of half a second over which a held command did not change is no gap", () => {
    const t = evenTimes(50, 10).filter((time) => time < 4 || time >= 4.5);
    const track = build(t, { x: new Float64Array(t.length).fill(0.4), between: "hold" });
    expect(track.breaks).toEqual([]);
    expect(at(track, 4.2)[0]).toBe(0.4);
  });

  test("a fast stream that falls silent for two seconds commands nothing in between", () => {
    const t = evenTimes(50, 10).filter((time) => time < 4 || time >= 6);
    const track = build(t, { x: new Float64Array(t.length).fill(0.4), between: "hold" });
    expect(track.breaks.length).toBe(1);
    expect(at(track, 5)[0]).toBeNaN();
  });

  test("a command that comes seldom holds until it is replaced, and the last one on", () => {
    const t = Float64Array.of(1, 9, 30);
    const track = build(t, { x: Float64Array.of(0, 1, 2) });
    expect(track.between).toBe("hold");
    expect(at(track, 0.9, 1, 8.9, 9, 29, 30, 500)).toEqual([Number.NaN, 0, 0, 1, 1, 2, 2]);
  });

  test("a single message holds from then on", () => {
    expect(at(build(Float64Array.of(2), { x: Float64Array.of(0.4) }), 1.9, 2, 60)).toEqual([Number.NaN, 0.4, 0.4]);
  });

  test("a stream that stops commands nothing after its last interval", () => {
    const t = evenTimes(50, 4);
    const track = build(t, { x: t.map((time) => (time < 2 ? 0 : 1)) });
    expect(track.between).toBe("hold");
    const [inside, outside] = at(track, 3.995, 4.05);
    expect(inside).toBe(1);
    expect(outside).toBeNaN();
  });
});

describe("attitude", () => {
  const t = evenTimes(50, 2);
  const column = (value: number): Float64Array => new Float64Array(t.length).fill(value);

  test("comes from the message where it has one, with continuous sign and unit norm", () => {
    const sign = t.map((_, i) => (i % 3 === 0 ? -1 : 1));
    const track = build(t, {
      columns: { qx: column(0), qy: column(0), qz: sign.map((s) => 0.6 * s), qw: sign.map((s) => 0.8 * s) },
    });
    expect(track.attitude).toBe("given");
    expect(new Set(track.qz.map((value, i) => value / track.qw[i]!)).size).toBe(1);
    expect(new Set(track.qw.map(Math.sign)).size).toBe(1);
    // the turn half way is the turn of the ends
    expect(Math.abs(samplePoses(track, Float64Array.of(0.51)).qz[0]!)).toBeCloseTo(0.6, 12);
  });

  test("comes from the yaw where there is no quaternion", () => {
    const track = build(t, { columns: { yaw: column(Math.PI / 3) } });
    expect(track.attitude).toBe("yaw");
    // half of 60 degrees: sine 1/2, by hand
    expect(track.qz[10]).toBeCloseTo(0.5, 12);
    expect(track.qw[10]).toBeCloseTo(Math.sqrt(3) / 2, 12);
    expect([track.qx[10], track.qy[10]]).toEqual([0, 0]);
  });

  test("is level where the message has neither, or masks its yaw", () => {
    expect(build(t, {}).attitude).toBe("level");
    const masked = build(t, { columns: { yaw: column(1) }, given: { yaw: new Uint8Array(t.length) } });
    expect(masked.attitude).toBe("level");
    expect([masked.qx[5], masked.qy[5], masked.qz[5], masked.qw[5]]).toEqual([0, 0, 0, 1]);
  });

  test("a quaternion of zeros says nothing: level", () => {
    const track = build(t, { columns: { qx: column(0), qy: column(0), qz: column(0), qw: column(0) } });
    expect(track.attitude).toBe("level");
    expect(track.qw[5]).toBe(1);
  });
});

test("messages are taken in the order of the timeline, not of the log", () => {
  const recorded = signal({
    columns: { x: Float64Array.of(2, 0, 1), y: new Float64Array(3), z: new Float64Array(3) },
  });
  const track = buildCommandTrack(
    recorded,
    Float64Array.of(0, 0.02, 0.04),
    Uint32Array.of(1, 2, 0),
    "linear",
    defaultSettings,
  );
  expect([...track.x]).toEqual([0, 1, 2]);
});

test("no message, no command", () => {
  expect(build(new Float64Array(0), {}).t.length).toBe(0);
});

test("the messages of a held command are what was reported: no point that draws a step, no endless last one, gaps kept", () => {
  const t = Float64Array.of(0, 0.5, 1, 1.5, 2);
  const z = t.map(() => 1);
  const x = Float64Array.of(0, 0, 0.1, Number.NaN, 0.3);
  const track = build(t, { columns: { x, y: z, z } });
  expect(track.between).toBe("hold");
  // drawn: a step before 1 s, the end of what is known after it, and the last that holds on
  expect(track.t.length).toBeGreaterThan(5);
  const messages = messagesOf(track);
  expect([...messages.t].map((at) => Number(at.toFixed(3)))).toEqual([0, 0.5, 1, 1, 2]);
  expect([...messages.x]).toEqual([0, 0, 0.1, Number.NaN, 0.3]);
  const linear = build(evenTimes(50, 2), {});
  expect(messagesOf(linear).t).toBe(linear.t);
});
