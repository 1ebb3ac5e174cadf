import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import type { SignalRequest } from "../../../src/foundation/recording.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
let files = 0;

function file(text: string | Uint8Array): string {
  const path = join(folder, `table-${files++}.csv`);
  writeFileSync(path, text);
  return path;
}

interface Row {
  readonly t: number;
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** Ten rows at 100 Hz, as every layout below writes them. */
const rows: readonly Row[] = Array.from({ length: 10 }, (_, k) => ({ t: k / 100, x: k / 8, y: (3 - k) / 16, z: 1.5 }));
const columns = { t: "t", x: "x", y: "y", z: "z" };

async function read(text: string | Uint8Array, request: Partial<SignalRequest> = {}) {
  const recording = await readLog([file(text)], [{ signal: "vehicle_pose", topic: "", columns, ...request }]);
  return { recording, signal: recording.signals.get("vehicle_pose") };
}

const body = (separator: string, number = (value: number): string => String(value)): string =>
  rows.map(({ t, x, y, z }) => [t, x, y, z].map(number).join(separator)).join("\n");
const comma = (value: number): string => String(value).replace(".", ",");

/** Every way to write the same ten rows; the values are those above, by construction. */
const layouts: readonly (readonly [string, string | Uint8Array, Partial<SignalRequest>?])[] = [
  ["commas under a heading", `t,x,y,z\n${body(",")}\n`],
  ["no line end after the last row", `t,x,y,z\n${body(",")}`],
  ["Windows line ends", `t,x,y,z\n${body(",")}\n`.replaceAll("\n", "\r\n")],
  ["line ends of old Macintoshes", `t,x,y,z\n${body(",")}\n`.replaceAll("\n", "\r")],
  ["a byte order mark", `\ufefft,x,y,z\n${body(",")}\n`],
  ["UTF-16 with its mark", Buffer.from(`\ufefft,x,y,z\n${body(",")}\n`, "utf16le")],
  ["tabs", `t\tx\ty\tz\n${body("\t")}\n`],
  ["semicolons", `t;x;y;z\n${body(";")}\n`],
  ["semicolons and decimal commas", `t;x;y;z\n${body(";", comma)}\n`],
  ["tabs and decimal commas", `t\tx\ty\tz\n${body("\t", comma)}\n`],
  ["bars", `t|x|y|z\n${body("|")}\n`],
  ["blanks, several at a time", `  t   x y  z\n${body("   ").replaceAll("\n", "\n  ")}\n`],
  ["blanks and decimal commas", `t x y z\n${body(" ", comma)}\n`],
  ["blanks beside the commas", `t , x , y , z\n${body(" , ")}\n`],
  ["a separator at the end of every line", `t,x,y,z,\n${body(",").replaceAll("\n", ",\n")},\n`],
  ["quotes around everything", `"t","x","y","z"\n${body('","').replaceAll("\n", '"\n"').replace(/^/, '"')}"\n`],
  ["a heading marked as a comment", `# t x y z\n${body(" ")}\n`],
  ["a heading marked as a comment with per cent", `%t,x,y,z\n${body(",")}\n`],
  ["comments and empty lines between the rows", `t,x,y,z\n${body(",").replaceAll("\n", "\n# pause\n\n")}\n`],
  ["no heading at all", `${body(",")}\n`, { columns: { t: "#1", x: "#2", y: "#3", z: "#4" } }],
  ["a preamble", `Flight log of the swab arm\nPilot,none\n\nt,x,y,z\n${body(",")}\n`],
  [
    "a preamble of keys and values, and a heading of three lines, bodies over axes",
    `Format,2\nLength units,Metres\n\n,Airframe,,\n,Position,Position,Position\n,X,Y,Z\n${body(",")}\n`.replace(
      ",X,Y,Z",
      "Time,X,Y,Z",
    ),
    { columns: { t: "Time", x: "Airframe Position X", y: "Airframe Position Y", z: "Airframe Position Z" } },
  ],
  ["units in a line of their own", `t,x,y,z\ns,m,m,m\n${body(",")}\n`],
  ["units in brackets behind the names", `t [s],x [m],y (m),z [m]\n${body(",")}\n`],
  [
    "brackets before the cells",
    `[day] [tag] t, x, y, z,\n${body(", ").replaceAll("\n", ",\n[day] [tag] ").replace(/^/, "[day] [tag] ")},\n`,
  ],
  ["names in another case", `T,X,Y,Z\n${body(",")}\n`],
];

describe("the same rows are read from", () => {
  test.each(layouts.map(([name, text, request = {}]) => [name, text, request] as const))(
    "%s",
    async (_, text, request) => {
      const { recording, signal } = await read(text, { units: { t: "s", position: "m" }, ...request });
      expect(recording.missing).toEqual([]);
      expect(recording.recovered).toBeNull();
      expect([...signal!.columns.x!]).toEqual(rows.map(({ x }) => x));
      expect([...signal!.columns.y!]).toEqual(rows.map(({ y }) => y));
      expect([...signal!.columns.z!]).toEqual(rows.map(({ z }) => z));
      expect([...signal!.stamped!.seconds]).toEqual(rows.map(({ t }) => t));
      expect(signal!.stamped!.epoch).toBe(0n);
    },
  );
});

describe("units", () => {
  test("of a line under the heading are applied: milliseconds and millimetres", async () => {
    const text = `t,x,y,z\nms,mm,mm,mm\n${rows.map(({ t, x, y, z }) => [1e3 * t, 1e3 * x, 1e3 * y, 1e3 * z].join(",")).join("\n")}\n`;
    const { signal } = await read(text);
    expect(signal!.notes).toBeUndefined();
    // an eighth times 1000 / 1000 is exact to rounding
    expect(signal!.columns.x![7]).toBeCloseTo(7 / 8, 15);
    expect(signal!.stamped!.seconds[7]).toBe(0.07);
  });

  test("of a preamble are those of all lengths without one of their own", async () => {
    const { signal } = await read(`Length Units,Millimeters\n\nt,x,y,z\n${body(",")}\n`, { units: { t: "s" } });
    expect(signal!.columns.z![0]).toBeCloseTo(1.5e-3, 18);
  });

  test("that nothing says are taken for SI, and that is reported", async () => {
    const { signal } = await read(`t,x,y,z\n${body(",")}\n`);
    expect(signal!.notes).toEqual([
      "nothing says the unit of the time t: taken for s",
      "nothing says the unit of x, y, z: taken for m",
    ]);
  });

  test.each([
    ["s", 1_772_714_780, 0],
    ["ms", 1_772_714_780_000, 3],
    ["us", 1_772_714_780_000_000, 6],
    ["ns", "1772714780000000000", 9],
  ] as const)("of a time that can only be a date of this century is seen: %s", async (_, first, power) => {
    const text = `t,x,y,z\n${rows.map(({ x, y, z }, k) => [String(BigInt(first) + BigInt(k) * 10n ** BigInt(power)), x, y, z].join(",")).join("\n")}\n`;
    const { signal } = await read(text, { units: { position: "m" } });
    expect(signal!.notes).toBeUndefined();
    expect(signal!.stamped!.epoch).toBe(1_772_714_780_000_000_000n);
    expect([...signal!.stamped!.seconds]).toEqual(rows.map((_row, k) => k));
  });

  test("are not needed for dates", async () => {
    const text = `t,x,y,z\n${rows.map(({ x, y, z }, k) => [`2026-09-14T09:30:0${k}.5Z`, x, y, z].join(",")).join("\n")}\n`;
    const { signal } = await read(text, { units: { t: "iso", position: "m" } });
    // 1789378200: Debian's date(1) for 2026-09-14T09:30:00Z
    expect(signal!.stamped!.epoch).toBe(1_789_378_200_500_000_000n);
    expect([...signal!.stamped!.seconds]).toEqual(rows.map((_row, k) => k));
  });

  test("are not needed for times of day, which count from midnight", async () => {
    const text = `t,x,y,z\n${rows.map(({ x, y, z }, k) => [`09:30:0${k}.25`, x, y, z].join(",")).join("\n")}\n`;
    const { signal } = await read(text, { units: { position: "m" } });
    // 9 h 30 min: 34 200 s
    expect(signal!.stamped!.epoch).toBe(34_200_250_000_000n);
    expect([...signal!.stamped!.seconds]).toEqual(rows.map((_row, k) => k));
  });

  test("of something else than the column measures are told and not used", async () => {
    const { signal } = await read(`t [s],x [deg],y [m],z [m]\n${body(",")}\n`);
    expect(signal!.notes).toEqual([
      "the heading says deg for x, which is no unit of x",
      "nothing says the unit of x: taken for m",
    ]);
  });

  // frame 1 of a capture at 200 Hz is 5 ms after frame 0
  test("of time that is counted in frames: their rate", async () => {
    const rows = Array.from({ length: 12 }, (_, k) => `${k + 1},0,${k},${k},${k}`);
    const recording = await readLog(
      [file(`Segments\n200\n,,Airframe,,\nFrame,Sub Frame,TX,TY,TZ\n,,mm,mm,mm\n${rows.join("\n")}\n`)],
      [
        {
          signal: "vehicle_pose",
          topic: "",
          columns: { t: "Frame", x: "Airframe TX", y: "Airframe TY", z: "Airframe TZ" },
          units: { t: "200 Hz" },
        },
      ],
    );
    const { received, columns, notes } = recording.signals.get("vehicle_pose")!;
    expect(received.epoch).toBe(5_000_000n);
    received.seconds.forEach((seconds, k) => {
      expect(seconds).toBeCloseTo(k / 200, 15);
    });
    expect([...columns.x!].slice(0, 3)).toEqual([0, 0.001, 0.002]);
    expect(notes).toBeUndefined();
  });

  test("of time that are no power of ten: minutes", async () => {
    const { signal } = await read(`t,x,y,z\n${body(",")}\n`, { units: { t: "min", position: "m" } });
    expect(signal!.stamped!.seconds[5]).toBeCloseTo(3, 12);
  });
});

describe("cells that hold nothing", () => {
  const text = "t,x,y,z\n0,1,2,3\n1,,,\n2,nan,2,3\n3,NaN,NaN,NaN\n4,5,,3\n,1,1,1\n6,7,8,9\n7,1,1\n";

  test("a row without any value says nothing; a written NaN is a statement and stays", async () => {
    const { recording, signal } = await read(text, { units: { t: "s", position: "m" } });
    expect([...signal!.stamped!.seconds]).toEqual([0, 2, 3, 4, 6, 7]);
    expect([...signal!.columns.x!]).toEqual([1, Number.NaN, Number.NaN, 5, 7, 1]);
    expect([...signal!.columns.z!]).toEqual([3, 3, Number.NaN, 3, 9, Number.NaN]);
    expect(recording.recovered).toBe(
      "1 of 8 row(s) end before the last of 4 columns; 1 row(s) have no time in the column t: left out",
    );
  });

  test("two signals of one table have each the rows that speak of them", async () => {
    const merged = "t,x,y,z,a,b,c\n0,1,1,1,,,\n1,,,,5,5,5\n2,2,2,2,,,\n3,3,3,3,6,6,6\n";
    const recording = await readLog(
      [file(merged)],
      [
        { signal: "vehicle_pose", topic: "", columns },
        { signal: "vehicle_setpoint", topic: "", columns: { t: "t", x: "a", y: "b", z: "c" } },
      ],
    );
    expect([...recording.signals.get("vehicle_pose")!.stamped!.seconds]).toEqual([0, 2, 3]);
    expect([...recording.signals.get("vehicle_setpoint")!.columns.x!]).toEqual([5, 6]);
  });

  test("text among numbers is counted and reported", async () => {
    const { recording } = await read("t,x,y,z\n0,1,2,3\n1,lost,2,3\n2,1,2,3\n3,1,2,3\n");
    expect(recording.recovered).toContain("the column x holds text in 1 row(s) where a number was expected");
  });
});

describe("what a table cannot give is reported with what there is", () => {
  test("a column that is not there, nearest names first", async () => {
    const { recording } = await read(`t,px,py,pz\n${body(",")}\n`, { columns: { ...columns, x: "p_x" } });
    expect(recording.missing).toMatchObject([
      {
        reason: "absent",
        message: expect.stringContaining('found no column "p_x" for x; there are px,'),
        hint: "did you mean px?",
      },
    ]);
  });

  test("a topic", async () => {
    const recording = await readLog([file(`t,x,y,z\n${body(",")}\n`)], [{ signal: "vehicle_pose", topic: "/mocap" }]);
    expect(recording.missing[0]!.reason).toBe("wrong-type");
    expect(recording.missing[0]!.message).toContain("found a table (table), expected a log with topic /mocap");
  });

  test("the time as a value", async () => {
    const { recording } = await read(`t,x,y,z\n${body(",")}\n`, { columns: { ...columns, x: "t" } });
    expect(recording.missing[0]!.message).toContain('"t" both for t and for a value');
  });

  test("a stretch of time outside of it", async () => {
    const path = file(`t,x,y,z\n${body(",")}\n`);
    const within = await readLog([path], [{ signal: "vehicle_pose", topic: "", columns }], { span: [0.02, 0.05] });
    expect([...within.signals.get("vehicle_pose")!.stamped!.seconds]).toEqual([0.02, 0.03, 0.04]);
    const outside = await readLog([path], [{ signal: "vehicle_pose", topic: "", columns }], { span: [5, 9] });
    expect(outside.missing[0]!.message).toContain("none of the 10 row(s) lies from 5 s to 9 s");
  });
});

test("a line without the brackets of the others gives no numbers in wrong columns", async () => {
  const lines = rows.map(({ t, x, y, z }) => `[tag] ${t}, ${x}, ${y}, ${z}`);
  lines[4] = "9, 9, 9, 9";
  const { recording, signal } = await read(`[tag] t, x, y, z\n${lines.join("\n")}\n`, {
    units: { t: "s", position: "m" },
  });
  expect([...signal!.columns.x!]).toEqual(rows.filter((_row, k) => k !== 4).map(({ x }) => x));
  expect(recording.recovered).toContain("1 of 10 row(s) end before the last of 5 columns");
});

test("the parts of a split table are joined, whatever their headings' order of columns", async () => {
  const first = file("t,x,y,z\n0,1,2,3\n1,1,2,3\n2,1,2,3\n");
  const second = file("z,y,x,t\n3,2,9,3\n3,2,9,4\n3,2,9,5\n");
  const recording = await readLog([first, second], [{ signal: "vehicle_pose", topic: "", columns }]);
  expect([...recording.signals.get("vehicle_pose")!.columns.x!]).toEqual([1, 1, 1, 9, 9, 9]);
  expect([...recording.signals.get("vehicle_pose")!.stamped!.seconds]).toEqual([0, 1, 2, 3, 4, 5]);
  await expect(readLog([first, first], [])).rejects.toThrow("the same file twice");
});

describe("a survey proposes columns by names, units and values", () => {
  test("capture, command, estimate, rates; the real part of a numbered quaternion is the one near 1", async () => {
    const heading =
      "stamp [us],Airframe Position X [mm],Airframe Position Y [mm],Airframe Position Z [mm],Airframe q0,Airframe q1,Airframe q2,Airframe q3,setpoint_x,setpoint_y,setpoint_z,tool_pos_x,tool_pos_y,tool_pos_z,gyro_x [deg/s],gyro_y [deg/s],gyro_z [deg/s],vel_x,vel_y,vel_z";
    const row = (k: number): string =>
      [k * 10_000, k, k, 1500, 0.01, 0.02, 0.03, 0.999, 1, 2, 3, 4, 5, 6, 1, 1, 1, 0, 0, 0].join(",");
    const { table, topics, messages } = await surveyLog(file(`${heading}\n${[0, 1, 2, 3, 4].map(row).join("\n")}\n`));
    expect(messages).toBe(5);
    expect(topics.map(({ topic }) => topic)).toEqual(["stamp [us]"]);
    const proposed = Object.fromEntries(table!.proposals.map(({ signal, ...rest }) => [signal, rest]));
    expect(proposed.vehicle_pose).toEqual({
      columns: {
        t: "stamp [us]",
        x: "Airframe Position X [mm]",
        y: "Airframe Position Y [mm]",
        z: "Airframe Position Z [mm]",
        qx: "Airframe q0",
        qy: "Airframe q1",
        qz: "Airframe q2",
        qw: "Airframe q3",
      },
      units: { t: "us", position: "mm" },
      remark: expect.stringContaining("the order of the quaternion is a guess"),
    });
    expect(proposed.vehicle_setpoint!.columns).toEqual({
      t: "stamp [us]",
      x: "setpoint_x",
      y: "setpoint_y",
      z: "setpoint_z",
    });
    expect(proposed.effector_pose!.columns.x).toBe("tool_pos_x");
    expect(proposed.vehicle_rate).toEqual({
      columns: { t: "stamp [us]", wx: "gyro_x [deg/s]", wy: "gyro_y [deg/s]", wz: "gyro_z [deg/s]" },
      units: { t: "us", rate: "deg/s" },
    });
    expect(Object.keys(proposed)).toHaveLength(4);
  });

  // names as a flat table of messages with arrays has them; the numbers in brackets are elements, and no units
  test("elements of arrays, and axes in brackets", async () => {
    const arrays =
      "timestamp,position[0],position[1],position[2],q[0],q[1],q[2],q[3],velocity[0],velocity[1],velocity[2]";
    const rows = Array.from({ length: 12 }, (_, k) => [k, k, k, k, 1, 0, 0, 0.01, 0, 0, 0].join(","));
    const { table } = await surveyLog(file(`${arrays}\n${rows.join("\n")}\n`));
    expect(table!.columns.map(({ unit }) => unit)).toEqual(Array(11).fill(null));
    expect(table!.proposals.map(({ signal, columns }) => [signal, Object.values(columns).join(" ")])).toEqual([
      ["vehicle_pose", "timestamp position[0] position[1] position[2] q[1] q[2] q[3] q[0]"],
    ]);
    const axes = "Time (s),Position (X),Position (Y),Position (Z)";
    const other = await surveyLog(file(`${axes}\n${rows.map((row) => row.split(",").slice(0, 4)).join("\n")}\n`));
    expect(Object.values(other.table!.proposals[0]!.columns).join(", ")).toBe(axes.replaceAll(",", ", "));
  });

  test("the number of a frame is proposed as the time only where there is no time", async () => {
    const rows = Array.from({ length: 12 }, (_, k) => `${k},${k / 100},1,2,3`).join("\n");
    const withTime = await surveyLog(file(`Frame,elapsed,x,y,z\n${rows}\n`));
    expect(withTime.table!.proposals[0]!.columns).toEqual({ t: "elapsed", x: "x", y: "y", z: "z" });
    const without = await surveyLog(file(`Frame,u,x,y,z\n${rows}\n`));
    expect(without.table!.proposals[0]!.columns.t).toBe("Frame");
  });

  // half angles by hand: 90 degrees of yaw give 0.71 to each of w and z; 170 degrees leave 0.087 and 0.996
  test.each([
    ["first, yaw 0", [1, 0.01, 0.01, 0.01], "w", false],
    ["first, yaw 90", [0.71, 0.01, 0.01, 0.71], "w", false],
    ["first, yaw 120", [0.5, 0.01, 0.01, 0.866], "w", false],
    ["last, yaw 90", [0.01, 0.01, 0.71, 0.71], "x", false],
    ["last, yaw 120", [0.01, 0.01, 0.866, 0.5], "x", false],
    ["first, yaw 170, or last, yaw 0", [0.087, 0.01, 0.01, 0.996], "x", true],
  ] as const)("the real part of q0 to q3: %s", async (_, q, first, unsure) => {
    const rows = Array.from({ length: 12 }, (__, k) => [k / 100, k, k, k, ...q].join(","));
    const { table } = await surveyLog(file(`t,x,y,z,q0,q1,q2,q3\n${rows.join("\n")}\n`));
    const { columns, remark } = table!.proposals[0]!;
    expect(columns[`q${first}`]).toBe("q0");
    expect(remark !== undefined).toBe(unsure);
  });
});
