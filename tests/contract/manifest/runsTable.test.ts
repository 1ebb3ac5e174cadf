import { describe, expect, test } from "vitest";
import { changed, example, placeOf, read, refusal } from "./support.ts";

const manifest = `${example.slice(0, example.indexOf("runs:\n"))}runs: runs.csv\n`;
const header = "log,configuration,trajectory,block,exclude";
const table = `${header}\nflight-01.bag,bare,orbit,day1,\nflight-02.bag,weighted,orbit,day1,arm jammed in cycle 4\n`;

test("a table gives the same campaign as inline runs", async () => {
  expect(await read(manifest, { "runs.csv": table })).toEqual(await read(example));
});

test("a byte order mark, CRLF, blank lines and quoted cells change nothing", async () => {
  const dressed = `\uFEFF${table.replace("arm jammed in cycle 4", '"arm jammed in cycle 4"')}\n\n,,,,\n`.replaceAll(
    "\n",
    "\r\n",
  );
  expect(await read(manifest, { "runs.csv": dressed })).toEqual(await read(example));
});

test("every column of a run is understood", async () => {
  const full =
    "id,log,configuration,trajectory,block,span,battery,takeoff_mass,started,notes,outcome,exclude\n" +
    'a,x_0.bag; x_1.bag,bare,orbit,day1,30 s..95 s,3,5140 g,2026-09-14T07:30:00Z,"gusty, ""very""",aborted,\n';
  expect((await read(manifest, { "runs.csv": full })).runs).toEqual([
    {
      id: "a",
      logs: { "": ["x_0.bag", "x_1.bag"] },
      configuration: "bare",
      trajectory: "orbit",
      block: "day1",
      span: [30, 95],
      battery: "3",
      takeoffMass: 5.14,
      // date -u -d 2026-09-14T07:30:00Z +%s
      started: 1_789_371_000_000_000_000n,
      notes: 'gusty, "very"',
      outcome: "aborted",
      exclude: null,
    },
  ]);
});

test("a span may stand in two columns, and a run without one has both cells empty", async () => {
  const rows = "log,configuration,trajectory,span_start,span_end\na.bag,bare,orbit,30 s,95 s\nb.bag,bare,orbit,,\n";
  expect((await read(manifest, { "runs.csv": rows })).runs.map(({ span }) => span)).toEqual([[30, 95], null]);
});

test("spans of several logs stand in columns named after them", async () => {
  const text = manifest.replaceAll(/\{ topic: (\S+), clock: (\w+)/g, "{ topic: $1, clock: $2, log: $2");
  const rows =
    "id,logs.mocap,logs.onboard,configuration,trajectory,span.mocap,span.onboard\n" +
    "a,m.csv,o.ulg,bare,orbit,30 s..95 s,12 s..77 s\nb,m.csv,o.ulg,bare,orbit,100 s..120 s,\n";
  expect((await read(text, { "runs.csv": rows })).runs.map(({ span }) => span)).toEqual([
    { mocap: [30, 95], onboard: [12, 77] },
    { mocap: [100, 120] },
  ]);
});

test("logs by name stand in columns of their own", async () => {
  const text = manifest.replaceAll(/\{ topic: (\S+), clock: (\w+)/g, "{ topic: $1, clock: $2, log: $2");
  const rows = "id,logs.mocap,logs.onboard,configuration,trajectory\na,a.csv,a_0.ulg;a_1.ulg,bare,orbit\n";
  expect((await read(text, { "runs.csv": rows })).runs[0]?.logs).toEqual({
    mocap: ["a.csv"],
    onboard: ["a_0.ulg", "a_1.ulg"],
  });
});

describe("a faulty table names its own line and column", () => {
  const cases: [string, string, string, RegExp, RegExp | null][] = [
    [
      "an unknown column, told once for all rows",
      table.replace("configuration", "configuraton").replace(/day1,.*/g, "day1,"),
      "configuraton",
      /unknown column "configuraton", expected log/,
      /did you mean configuration\?/,
    ],
    [
      "a column written twice",
      table.replace("block,exclude", "block,block"),
      "block\nfl",
      /the column "block" a second time, expected it once/,
      /keep one/,
    ],
    [
      "a row with a cell too many",
      table.replace("day1,\n", "day1,,\n"),
      "flight-01",
      /found 6 cells, expected 5 as in the header/,
      /double quotes/,
    ],
    [
      "a row with a cell too few",
      table.replace("day1,\n", "day1\n"),
      "flight-01",
      /found 4 cells, expected 5/,
      /double quotes/,
    ],
    [
      "an unknown configuration",
      table.replace("weighted", "wieghted"),
      "wieghted",
      /runs#2\.configuration: found "wieghted", expected a declared configuration/,
      /did you mean weighted\?/,
    ],
    [
      "a bare number",
      `${header},takeoff_mass\na.bag,bare,orbit,day1,,5140\n`,
      "5140",
      /the bare number 5140, expected a mass such as 540 g/,
      /5140 g/,
    ],
    [
      "half a span",
      `${header},span_start,span_end\na.bag,bare,orbit,day1,,3 s,\n`,
      "3 s",
      /span: found nothing, expected a time/,
      null,
    ],
    [
      "a span twice in one row",
      `${header},span,span_start,span_end\na.bag,bare,orbit,day1,,0 s..9 s,3 s,8 s\n`,
      "8 s",
      /span: found "two spans in one row", expected a start and an end/,
      null,
    ],
    [
      "an exclusion without a reason",
      table.replace("arm jammed in cycle 4", "yes"),
      "yes",
      /found "yes", expected the reason in words/,
      /arm jammed/,
    ],
    ["no run", `${header}\n`, "log", /found 0 runs, expected 1 to 10000/, null],
    ["semicolons between cells", table.replaceAll(",", ";"), "log", /unknown column/, /separate cells by commas/],
    [
      "a fault below a cell of two lines",
      `${header}\na.bag,bare,orbit,day1,"two\nlines"\nb.bag,bear,orbit,day1,\n`,
      "bear",
      /found "bear"/,
      /did you mean bare\?/,
    ],
  ];
  test.each(cases)("%s", async (_, rows, at, message, hint) => {
    const error = await refusal(manifest, { "runs.csv": rows });
    const problem = error.problems.find((one) => message.test(one.message));
    expect(problem?.place).toBe(placeOf(rows, at, "runs.csv"));
    if (hint !== null) expect(problem?.hint).toMatch(hint);
  });

  test("a missing required column is missed in each row that lacks it, an unknown one only once", async () => {
    const error = await refusal(manifest, {
      "runs.csv": "log,configuration,trajectroy\na.bag,bare,orbit\nb.bag,bare,orbit\n",
    });
    const messages = error.problems.map(({ message }) => message);
    expect(messages.filter((message) => message.includes("unknown column"))).toHaveLength(1);
    expect(
      messages.filter((message) => message.includes("found nothing, expected the name of a trajectory")),
    ).toHaveLength(2);
  });

  test("a quote that is never closed", async () => {
    const rows = table.replace("arm", '"arm');
    const error = await refusal(manifest, { "runs.csv": rows });
    expect(error).toMatchObject({ code: "csv-syntax", place: placeOf(rows, '"arm', "runs.csv") });
  });
});

test("a table that cannot be read is reported at the place that names it, with the reason", async () => {
  const error = await refusal(manifest, {});
  expect(error.problems[0]).toMatchObject({
    place: placeOf(manifest, "runs.csv"),
    message: expect.stringMatching(/found "runs.csv", expected a table that can be read: no such file: runs.csv/),
    hint: expect.stringMatching(/relative to the manifest/),
  });
});

test("problems of the manifest and of its table are reported together", async () => {
  const text = changed(["radius: 60 mm", "radius: 60"]).replace(/runs:\n[\s\S]*/, "runs: runs.csv\n");
  const error = await refusal(text, { "runs.csv": table.replace("weighted", "heavy") });
  expect(error.problems.map(({ place }) => place.split(":")[0])).toEqual(["campaign.yaml", "runs.csv"]);
});
