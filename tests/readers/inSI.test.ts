import { describe, expect, test } from "vitest";
import type { RecordedSignal, SignalRequest } from "../../src/foundation/recording.ts";
import { inSI } from "../../src/readers/inSI.ts";

const times = { epoch: 0n, seconds: Float64Array.of(0, 1) };

function recorded(changes: Partial<RecordedSignal>): RecordedSignal {
  return {
    signal: "vehicle_pose",
    topic: "",
    type: "table",
    frameId: "",
    received: times,
    stamped: times,
    zeroStamps: 0,
    columns: { x: Float64Array.of(1500, -250) },
    given: {},
    ...changes,
  };
}

const asked = (changes: Partial<SignalRequest> = {}): SignalRequest => ({
  signal: "vehicle_pose",
  topic: "",
  ...changes,
});

describe("a unit", () => {
  // SI Brochure (2019): prefixes; a degree is pi / 180 rad
  test.each([
    ["x", "position", "mm", 1e-3],
    ["x", "position", "m", 1],
    ["z", "position", "inch", 0.0254],
    ["wx", "rate", "deg/s", Math.PI / 180],
    ["voltage", "voltage", "mV", 1e-3],
    ["yaw", "angle", "deg", Math.PI / 180],
    ["yaw", "attitude", "deg", Math.PI / 180],
    ["x", "x", "cm", 1e-2],
  ] as const)("%s by the declared %s in %s", (column, key, unit, factor) => {
    const signal = recorded({ signal: "vehicle_setpoint", columns: { [column]: Float64Array.of(1500, -250) } });
    const { columns } = inSI(signal, asked({ units: { [key]: unit } }));
    expect(columns[column]![0]! / 1500).toBeCloseTo(factor, 15);
    expect(columns[column]![1]! / -250).toBeCloseTo(factor, 15);
  });

  test("that the heading writes is used where none is declared", () => {
    const { columns, notes } = inSI(recorded({ units: { x: "mm" } }), asked());
    expect([...columns.x!]).toEqual([1.5, -0.25]);
    expect(notes).toBeUndefined();
  });

  test("that is declared stands above the heading's, and both are reported", () => {
    const { columns, notes } = inSI(
      recorded({ units: { x: "mm" } }),
      asked({ units: { position: "cm" }, columns: { x: "px" } }),
    );
    expect([...columns.x!]).toEqual([15, -2.5]);
    expect(notes).toEqual(["the heading says mm for px, the manifest cm: taken for cm"]);
  });

  test("that nothing says is taken for SI, and that is reported", () => {
    const { columns, notes } = inSI(recorded({ units: { x: null } }), asked({ columns: { x: "px" } }));
    expect([...columns.x!]).toEqual([1500, -250]);
    expect(notes).toEqual(["nothing says the unit of px: taken for m"]);
  });

  test("of a message is SI by its definition: nothing is reported", () => {
    expect(inSI(recorded({}), asked()).notes).toBeUndefined();
  });

  test("of a format that says its own is not applied twice", () => {
    expect([...inSI(recorded({ si: true }), asked({ units: { position: "mm" } })).columns.x!]).toEqual([1500, -250]);
  });
});

describe("roll, pitch and yaw", () => {
  const angles = { roll: Float64Array.of(0, 10), pitch: Float64Array.of(0, 0), yaw: Float64Array.of(90, 0) };

  test("of a measured pose become a quaternion", () => {
    const { columns } = inSI(recorded({ columns: angles }), asked({ units: { angle: "deg" } }));
    // by hand: half of 90 degrees about z; half of 10 degrees about x
    const half = (5 * Math.PI) / 180;
    expect(columns.qz![0]).toBeCloseTo(Math.SQRT1_2, 15);
    expect(columns.qw![0]).toBeCloseTo(Math.SQRT1_2, 15);
    expect(columns.qx![1]).toBeCloseTo(Math.sin(half), 15);
    expect(columns.qw![1]).toBeCloseTo(Math.cos(half), 15);
  });

  test("beside a quaternion are left alone", () => {
    const columns = { ...angles, qx: times.seconds, qy: times.seconds, qz: times.seconds, qw: times.seconds };
    expect(inSI(recorded({ columns }), asked()).columns.qx).toBe(times.seconds);
  });

  test("of a command stay: its yaw may be masked", () => {
    const signal = recorded({ signal: "vehicle_setpoint", columns: { yaw: Float64Array.of(1, Number.NaN) } });
    expect(inSI(signal, asked()).columns.yaw![0]).toBe(1);
  });

  test("without roll and pitch give the yaw alone", () => {
    const { columns, notes } = inSI(recorded({ columns: { yaw: Float64Array.of(Math.PI, 0) } }), asked());
    expect(columns.qz![0]).toBeCloseTo(1, 15);
    // what is not known is reported where something rests on it, and nothing was taken for granted
    expect(notes).toBeUndefined();
  });
});

test("the columns handed in are not changed", () => {
  const x = Float64Array.of(1500, -250);
  inSI(recorded({ columns: { x } }), asked({ units: { position: "mm" } }));
  expect([...x]).toEqual([1500, -250]);
});
