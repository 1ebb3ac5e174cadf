import { expect, test } from "vitest";
import { layoutOf, startsWithHeader } from "../../../src/readers/messages/definition.ts";
import { definitionOf } from "./definitions.ts";

test("a layout is the order of the fields, whatever comments, constants, defaults and bounds stand among them", () => {
  // by hand, after the definitions of ROS 2's common interfaces
  const expected = {
    "geometry_msgs/PoseStamped": `H${"d".repeat(7)}`,
    "nav_msgs/Odometry": `Hs${"d".repeat(7 + 36 + 6 + 36)}`,
    "tf2_msgs/TFMessage": `[Hs${"d".repeat(7)}]`,
    "sensor_msgs/BatteryState": "Hfffffffbbbb[f][f]ss",
    "trajectory_msgs/MultiDOFJointTrajectory": "H[s][[ddddddd][dddddd][dddddd]D]",
    "mavros_msgs/PositionTarget": `Hbh${"d".repeat(9)}ff`,
  };
  for (const [type, layout] of Object.entries(expected)) expect(layoutOf(definitionOf(type))).toBe(layout);
  expect(layoutOf('string<=10 a "x"\nint64[<=5] b [1, 2]\nuint16[3] c\nstring D="e"\ntime t\nwstring w')).toBe(
    "s[q]hhhTw",
  );
});

test("a definition that is empty, names a type it does not hold, or holds itself has no layout", () => {
  for (const definition of ["", "# nothing", "lab_msgs/Missing a", "A a\n===\nMSG: lab_msgs/A\nA a"])
    expect(layoutOf(definition)).toBeNull();
});

test("types that hold many of each other, and nothing in the end, take no time", () => {
  const level = (i: number): string => `===\nMSG: a/T${i}\n${i === 20 ? "" : `T${i + 1} x\n`.repeat(50)}`;
  const begun = performance.now();
  expect(layoutOf(`T0 x\n${Array.from({ length: 21 }, (_, i) => level(i)).join("")}`)).toBe("");
  expect(layoutOf("float64[4000000000] x")).toBeNull();
  // 50 to the 20th otherwise
  expect(performance.now() - begun).toBeLessThan(10_000);
});

test("a header is one as first field alone, however it is written", () => {
  for (const line of ["Header header", "std_msgs/Header header", "std_msgs/msg/Header h", "int8 A=1\nHeader header"])
    expect(startsWithHeader(line)).toBe(true);
  for (const line of ["", "float64 x\nHeader header", "Header[] headers", "float64 x\n===\nMSG: a/B\nHeader header"])
    expect(startsWithHeader(line)).toBe(false);
});
