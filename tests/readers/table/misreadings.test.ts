import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { SignalRequest } from "../../../src/foundation/recording.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { findLayout } from "../../../src/readers/table/findLayout.ts";
import type { CellSink } from "../../../src/readers/table/LineWalk.ts";
import { walkRows } from "../../../src/readers/table/walkRows.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

/** Tables that can be read wrongly without a word; the values expected are those that the text was made of. */
const folder = temporaryFolder();
let files = 0;

function file(text: string): string {
  const path = join(folder, `misread-${files++}.csv`);
  writeFileSync(path, text);
  return path;
}

const columns = { t: "t", x: "x", y: "y", z: "z" };

async function read(texts: readonly string[], request: Partial<SignalRequest> = {}) {
  const paths = texts.map(file);
  const recording = await readLog(paths, [{ signal: "vehicle_pose", topic: "", columns, ...request }]);
  return { recording, signal: recording.signals.get("vehicle_pose") };
}

/** Twelve rows, 10 ms apart, by their number. */
const lines = (row: (k: number) => string): string[] => Array.from({ length: 12 }, (_, k) => row(k));
const plain = (k: number): string => `${k / 100},${k},${k + 100},${k + 200}`;
const list = (column: Float64Array | undefined): number[] => [...column!];
const numbers = (from: number): number[] => Array.from({ length: 12 }, (_, k) => k + from);

test("two lines run together give no values and are counted", async () => {
  const rows = lines(plain);
  rows[5] = `${rows[5]}${rows[6]}`;
  rows.splice(6, 1);
  const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.z)).toEqual(numbers(200).filter((z) => z !== 205 && z !== 206));
  expect(recording.recovered).toContain("1 of 11 row(s) have more cells than the 4 columns");
  expect(recording.recovered).not.toContain("no time");
});

test("so does a separator in a text that is not quoted, also where the last column is not wanted", async () => {
  const rows = lines((k) => `${k / 100},${k === 4 ? "go, now" : "go"},${k},${k + 100},${k + 200},9`);
  const { recording, signal } = await read([`t,note,x,y,z,u\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual(numbers(0).filter((x) => x !== 4));
  expect(recording.recovered).toContain("more cells than the 6 columns");
});

test("a separator at the end of some rows is no cell too many", async () => {
  const rows = lines((k) => `${plain(k)}${k === 2 ? "," : ""}`);
  const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.y)).toEqual(numbers(100));
  expect(recording.recovered).toBeNull();
});

test("doubled quotes stand within a text", async () => {
  const rows = lines((k) => `${k / 100},"he said ""go, ${k}"", then left",${k},${k + 100},${k + 200}`);
  const { recording, signal } = await read([`t,note,x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual(numbers(0));
  expect(list(signal!.columns.z)).toEqual(numbers(200));
  expect(recording.recovered).toBeNull();
});

test("a quote that is not closed on its line costs the line, and is said", async () => {
  const rows = lines((k) => `${k / 100},${k === 3 ? '"a' : "a"},${k},${k + 100},${k + 200}`);
  const { recording, signal } = await read([`t,note,x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual(numbers(0).filter((x) => x !== 3));
  expect(recording.recovered).toContain("a quote that is not closed");
});

test("row numbers without a name in the heading move no column", async () => {
  const rows = lines((k) => `"${k + 1}" ${plain(k).replaceAll(",", " ")}`);
  const { signal } = await read([`"t" "x" "y" "z"\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual(numbers(0));
  expect(signal!.received.seconds[3]).toBeCloseTo(0.03, 12);
});

test("nor do dates before the times of day", async () => {
  const rows = lines((k) => `2026-09-14 09:30:00.${String(10 + k)} ${k} ${k + 100} ${k + 200}`);
  const { signal } = await read([`time x y z\n${rows.join("\n")}\n`], { columns: { ...columns, t: "time" } });
  expect(list(signal!.columns.y)).toEqual(numbers(100));
  expect(signal!.received.seconds[11]).toBeCloseTo(0.11, 9);
});

test("a heading one name short is not believed where nothing tells which column has none", async () => {
  const rows = lines((k) => `${k / 100},${k},${k + 100},${k + 200},0.5`);
  const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(signal).toBeUndefined();
  expect(recording.missing[0]!.message).toContain("there are #1, #2, #3, #4, #5");
  expect(recording.recovered).toContain("the heading has 4 names for 5 columns");
});

test("units in capitals are not mega", async () => {
  const rows = lines((k) => `${10 * k},${k},${k + 100},${k + 200}`);
  const { signal } = await read([`T (MS),X (MM),Y (MM),Z (MM)\n${rows.join("\n")}\n`]);
  expect(signal!.received.seconds[11]).toBeCloseTo(0.11, 12);
  expect(signal!.columns.x![5]).toBeCloseTo(0.005, 12);
});

test.each([
  ["microseconds since the start, which look like seconds since 1970", 1_200_000_000, 10_000],
  ["nanoseconds since the start, which look like milliseconds since 1970", 1_200_000_000_000, 10_000_000],
])("%s, are no dates: that the unit is guessed is said", async (_, first, step) => {
  const rows = lines((k) => `${first + step * k},${k},${k + 100},${k + 200}`);
  const { signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(signal!.notes?.join()).toContain("nothing says the unit of the time t");
});

test("the unit of a velocity before the heading is none of a length", async () => {
  const rows = lines(plain);
  const { signal } = await read([`Velocity units: mm/s\n\nt,x,y,z\n${rows.join("\n")}\n`]);
  expect(signal!.columns.x![7]).toBe(7);
  const { signal: other } = await read([`Units: mm\n\nt,x,y,z\n${rows.join("\n")}\n`]);
  expect(other!.columns.x![7]).toBeCloseTo(0.007, 12);
});

test("parts in different units are not joined", async () => {
  const part = (unit: string): string => `t,x [${unit}],y [${unit}],z [${unit}]\n${lines(plain).join("\n")}\n`;
  const { recording, signal } = await read([part("mm"), part("m")]);
  expect(signal).toBeUndefined();
  expect(recording.missing[0]!.message).toMatch(/found x in m in .*, expected the same as mm in /);
  // a unit for the time says nothing of the lengths; one for the lengths does
  const timed = await read([part("mm"), part("m")], { units: { t: "s" } });
  expect(timed.signal).toBeUndefined();
  const told = await read([part("mm"), part("m")], { units: { position: "m" } });
  expect(list(told.signal!.columns.x)).toEqual([...numbers(0), ...numbers(0)]);
});

test("a time beyond all measure is no time", async () => {
  const rows = lines((k) => `${k === 6 ? "1e300" : k / 6000},${k},${k + 100},${k + 200}`);
  const { recording, signal } = await read([`t [min],x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual(numbers(0).filter((x) => x !== 6));
  expect(recording.recovered).toContain("1 row(s) have no time");
});

test("a quote left in memory behind the last line doubles none of its own", () => {
  const layout = findLayout(`t,note\n${lines((k) => `${k},${k}`).join("\n")}\n`, 0)!;
  const bytes = Buffer.from('1,"ab""');
  const taken: string[] = [];
  const sink: CellSink = {
    numbers: null,
    take: (_, from, start, end) => taken.push(Buffer.from(from.subarray(start, end)).toString()),
    skip: () => taken.push("skipped"),
    discard: () => taken.push("discarded"),
  };
  const count = { rows: 0, uneven: 0, overfull: 0, shifted: 0, cut: false };
  walkRows(bytes, 0, bytes.length - 1, { layout, sinks: [null, sink], count });
  expect(taken).toEqual(["ab"]);
  expect(count).toEqual({ rows: 1, uneven: 0, overfull: 0, shifted: 0, cut: false });
});

test("a comment within the rows is no row, however it is marked", async () => {
  const rows = lines(plain);
  rows.splice(5, 0, "# paused", "% paused", "// paused");
  const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.z)).toEqual(numbers(200));
  expect(recording.recovered).toBeNull();
});

test.each(["NA", "NaN", "null", "-", ""])(
  "one time written as %j costs its row, not the column of dates",
  async (none) => {
    const rows = lines((k) => `${k === 4 ? none : `2026-09-14T09:30:00.${10 + k}Z`},${k},${k + 100},${k + 200}`);
    const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
    expect(list(signal!.columns.x)).toEqual(numbers(0).filter((x) => x !== 4));
    expect(signal!.received.seconds.at(-1)).toBeCloseTo(0.11, 9);
    expect(recording.recovered).toContain("1 row(s) have no time");
  },
);

test.each([
  ["between two cells", "0.110,0.011,100.0", true],
  ["within its last number", "0.110,0.011,100.011,200.0", true],
  ["nowhere, without a line end", "0.110,0.011,100.011,200.011", false],
])("a last line that was cut %s", async (_, last, cut) => {
  const row = (k: number): string =>
    [k / 100, k / 1000, 100 + k / 1000, 200 + k / 1000].map((x) => x.toFixed(3)).join();
  const text = `t,x,y,z\n${[...lines(row).slice(0, 11), last].join("\n")}`;
  const { recording, signal } = await read([text]);
  expect(signal!.columns.z!.length).toBe(cut ? 11 : 12);
  expect(signal!.columns.z!.at(-1)).toBe(cut ? 200.01 : 200.011);
  expect(recording.recovered).toBe(cut ? "the last line was cut short: left out" : null);
});

test("words in the first rows, before a sensor is ready, make no heading of them", async () => {
  const rows = lines((k) => (k < 3 ? `${k / 100},starting,starting,starting` : plain(k)));
  const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual([Number.NaN, Number.NaN, Number.NaN, ...numbers(0).slice(3)]);
  expect(recording.recovered).toContain("holds text in 3 row(s)");
});

test("decimal commas between commas stand in quotes", async () => {
  const rows = lines((k) => `"${k / 100},5","${k},25","${k + 100},5","${k + 200},125"`.replaceAll(".", ""));
  const { signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual(numbers(0).map((x) => x + 0.25));
  expect(list(signal!.columns.z)).toEqual(numbers(200).map((z) => z + 0.125));
});

test("parted thousands are no decimals: they are no numbers here, and that is said", async () => {
  const rows = lines((k) => `${k}\t1,${100 + k}\t12,${300 + k}\t${k}`);
  const { recording, signal } = await read([`t\tx\ty\tz\n${rows.join("\n")}\n`]);
  expect(list(signal!.columns.x)).toEqual(numbers(0).map(() => Number.NaN));
  expect(recording.recovered).toContain("the column x holds text in 12 row(s) where a number was expected");
});

test("a line of units is one though it holds a unit that is not known", async () => {
  const rows = lines((k) => `${10 * k},${k},${k + 100},${k + 200},7`);
  const { signal } = await read([`t,x,y,z,load\nms,mm,mm,mm,furlongs\n${rows.join("\n")}\n`]);
  expect(signal!.received.seconds[11]).toBeCloseTo(0.11, 12);
  expect(signal!.columns.x![7]).toBeCloseTo(0.007, 12);
});

test("the ranges of a survey leave out what a reading leaves out", async () => {
  const rows = lines(plain);
  rows[5] = `${rows[5]}${rows[6]}`;
  rows[2] = `"0.02,2,102,202`;
  const { table } = await surveyLog(file(`t,x,y,z\n${rows.join("\n")}\n`));
  // of 12 rows two are not believed; a longest number of the run-together line would be 2050.06
  expect(table!.columns.map(({ numbers: count, lowest, highest }) => [count, lowest, highest])).toEqual([
    [10, 0, 0.11],
    [10, 0, 11],
    [10, 100, 111],
    [10, 200, 211],
  ]);
});

// two carriage returns: what a writer of "\r\n" leaves in a file that Windows opened for text
test("a line end that was written for Windows twice costs no column", async () => {
  const { recording, signal } = await read([`t,x,y,z\r\r\n${lines(plain).join("\r\r\n")}\r\r\n`]);
  expect(list(signal!.columns.z)).toEqual(numbers(200));
  expect(recording.recovered).toBeNull();
});

// columns of fixed width, as spreadsheets print them: y is left blank in row 4, so that the line holds three words
test("a cell left blank between blanks moves no other into its place", async () => {
  const rows = lines((k) =>
    [k / 100, k, k === 4 ? "" : k + 100, k + 200].map((cell) => `${cell}`.padStart(8)).join(""),
  );
  const { recording, signal } = await read([
    `${["t", "x", "y", "z"].map((name) => name.padStart(8)).join("")}\n${rows.join("\n")}\n`,
  ]);
  expect(list(signal!.columns.y)).toEqual(numbers(100).filter((y) => y !== 104));
  expect(list(signal!.columns.z)).toEqual(numbers(200).filter((z) => z !== 204));
  expect(recording.recovered).toContain("1 of 12 row(s) have fewer cells than the 4 columns: left out");
  expect(recording.recovered).not.toContain("no time");
  const figures = (await surveyLog(file(`t x y z\n${rows.join("\n")}\n`))).table!.columns;
  expect(figures.map(({ highest }) => highest)).toEqual([0.11, 11, 111, 211]);
  expect(figures[2]!.lowest).toBe(100);
});

test("dates of which nothing tells the month are no times, and the cell is shown", async () => {
  const rows = lines((k) => `03/04/2026 09:30:${10 + k},${k},${k + 100},${k + 200}`);
  const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(signal).toBeUndefined();
  expect(recording.missing[0]!.message).toBe(
    'vehicle_pose: found "03/04/2026 09:30:10" in the column of times t, expected a number or a date',
  );
});

// a row a second; 2026-09-14T09:30:10Z is 1789378210 s after 1970 by Debian's date(1)
test.each([
  ["14-Sep-2026 09:30:", 1_789_378_210n],
  ["14.09.2026 09:30:", 1_789_378_210n],
  ["0 days 00:00:", 10n],
])("%s.. is a time", async (start, seconds) => {
  const rows = lines((k) => `${start}${10 + k},${k},${k + 100},${k + 200}`);
  const { recording, signal } = await read([`t,x,y,z\n${rows.join("\n")}\n`]);
  expect(signal!.received.epoch).toBe(seconds * 1_000_000_000n);
  expect(list(signal!.received.seconds)).toEqual(numbers(0));
  expect(recording.recovered).toBeNull();
});

// the second body of one export is not the only body of another
test.each([
  ["x (2)", "t,x,y,z"],
  ["x[1]", "t,x[0],y,z"],
])("the column %s is none of a table with the heading %s", async (x, heading) => {
  const { recording } = await read([`${heading}\n${lines(plain).join("\n")}\n`], { columns: { ...columns, x } });
  expect(recording.missing[0]!.message).toContain(`found no column ${JSON.stringify(x)} for x`);
});

// metres and seconds by definition: foot 0.3048, inch 0.0254, hour 3600 (NIST Handbook 44, appendix C)
test.each([
  ["t [h]", "x [ft]", 3600, 0.3048],
  ["t (min)", "x (in)", 60, 0.0254],
  ["t [minutes]", "x [dm]", 60, 0.1],
  ["t (msec)", "x (centimetres)", 0.001, 0.01],
])("the units of a heading %s, %s are not taken for SI", async (t, x, seconds, metres) => {
  const rows = lines((k) => `${k},${k},${k},${k}`);
  const { recording } = await read([`${t},${x},y [m],z [m]\n${rows.join("\n")}\n`]);
  const signal = recording.signals.get("vehicle_pose")!;
  // a product is rounded once more than the decimal fraction that it stands for
  expect(list(signal.received.seconds)).toEqual(numbers(0).map((k) => Number((k * seconds).toPrecision(15))));
  expect(list(signal.columns.x)).toEqual(numbers(0).map((k) => k * metres));
  expect(signal.notes ?? []).toEqual([]);
});

test.each(["usec", "microseconds", "nsec", "nanoseconds"])(
  "times of a heading in %s are not taken for seconds",
  async (unit) => {
    const perSecond = unit.startsWith("n") ? 1e9 : 1e6;
    const rows = lines((k) => `${(k * perSecond) / 4},${k},${k},${k}`);
    const { signal } = await read([`t (${unit}),x,y,z\n${rows.join("\n")}\n`]);
    expect(list(signal!.received.seconds)).toEqual(numbers(0).map((k) => k / 4));
  },
);

test.each(["", "# all lengths by the tape", "\n# a\n"])("a heading stands above %j as well", async (between) => {
  const { recording, signal } = await read([`day 3\nt,x,y,z\n${between}\n${lines(plain).join("\n")}\n`]);
  expect(recording.missing).toEqual([]);
  expect(list(signal!.columns.x)).toEqual(numbers(0));
  expect(list(signal!.columns.z)).toEqual(numbers(200));
});

test("of several columns of one name the first is taken, and that is reported; the others can be named", async () => {
  const text = `t,x,y,z,x,y,z\n${lines((k) => `${plain(k)},${k + 300},${k + 400},${k + 500}`).join("\n")}\n`;
  const first = (await read([text])).signal!;
  expect(list(first.columns.z)).toEqual(numbers(200));
  expect(first.notes!.join()).toContain(
    'several columns called x, y, z: the first of each is taken, the next is called "x (2)"',
  );
  const second = (await read([text], { columns: { t: "t", x: "x (2)", y: "y (2)", z: "z (2)" } })).signal!;
  expect(list(second.columns.z)).toEqual(numbers(500));
  expect(second.notes!.join()).not.toContain("several columns");
});

test("a time with a decimal point in a table of decimal commas is none, and the comma is named", async () => {
  const rows = lines((k) => `${(k / 100).toFixed(3)};${k},25;${k},5;${k},75`);
  const { recording } = await read([`t;x;y;z\n${rows.join("\n")}\n`]);
  expect(recording.missing[0]!.message).toContain(
    'found "0.000" in the column of times t, expected a number with a decimal comma',
  );
});
