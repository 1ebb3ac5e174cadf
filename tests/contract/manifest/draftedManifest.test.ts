import { expect, test } from "vitest";
import { changed, placeOf, read, refusal } from "./support.ts";

const bareRun = "log: flight-01.bag, configuration: bare,";
const weightedRun = "log: flight-02.bag, configuration: weighted,";
const unfiled: readonly [string, string][] = [
  [bareRun, "log: day1/flight-01.bag,"],
  [weightedRun, "log: day1/flight-02.bag,"],
];
const listing = (names: string): [string, string] => [
  "label: Counterweights fitted,",
  `label: Counterweights fitted, runs: ${names},`,
];

test("every place of a draft that was not filled in is named with its line, and nothing that follows from it", async () => {
  const text = changed(
    ["title: Tank-wall swab arm, autumn trials", "title: <TITLE>"],
    ["smallest_difference: 1.5 mm", "smallest_difference: <LENGTH>"],
    ["label: Arm alone", 'label: "<LABEL>"'],
    ["topic: /mocap/tool", "topic: <TOPIC>"],
    ["radius: 60 mm", "radius: <RADIUS>"],
    ["log: flight-01.bag, configuration: bare", "log: flight-01.bag, configuration: <CONFIGURATION>"],
  );
  const { code, problems } = await refusal(text);
  expect(code).toBe("manifest-invalid");
  expect(problems.map(({ place }) => place)).toEqual(
    ["<TITLE>", "<LENGTH>", '"<LABEL>"', "<TOPIC>", "<RADIUS>", "<CONFIGURATION>"].map((piece) => placeOf(text, piece)),
  );
  for (const { message } of problems) expect(message).toMatch(/found the placeholder <[A-Z]+>, expected what belongs/);
});

test("a placeholder that is a key, or stands in the table of runs, is named too, and a text between < and > is a text", async () => {
  const keyed = changed(["ballast: { label: Same mass", "<NAME>: { label: Same mass"]);
  expect((await refusal(keyed)).problems[0]!.message).toContain("found the placeholder <NAME>, expected a name");
  const table = "log,configuration,trajectory,block\na.bag,bare,orbit,<BLOCK>\nb.bag,weighted,orbit,day1\n";
  const [example] = changed().split("runs:\n");
  const error = await refusal(`${example}runs: runs.csv\n`, { "runs.csv": table });
  expect(error.problems.map(({ message }) => message)).toEqual([
    expect.stringContaining("found the placeholder <BLOCK>"),
  ]);
  expect((await read(changed(["title: Tank-wall swab arm", "title: <b>Tank</b> <A> swab arm"]))).title).toContain(
    "<A>",
  );
});

test("a configuration may list its runs, by path, file name, name without ending or id; the others are the baseline's", async () => {
  for (const name of ["day1/flight-02.bag", "flight-02.bag", "flight-02"]) {
    const { runs } = await read(changed(...unfiled, listing(`[${name}]`)));
    expect(runs.map(({ configuration }) => configuration)).toEqual(["bare", "weighted"]);
  }
  const named = changed([bareRun, "log: a.bag,"], [weightedRun, "log: a.bag, id: second, span: [0 s, 9 s],"]);
  expect((await refusal(named)).problems.map(({ message }) => message)).toContainEqual(
    expect.stringContaining("runs#1.configuration: found nothing, expected the name of a configuration"),
  );
});

test("a list of runs names runs that there are, each once and clearly, and no run says otherwise", async () => {
  const messages = async (...changes: [string, string][]): Promise<string[]> =>
    (await refusal(changed(...changes))).problems.map(({ message }) => message);
  expect(await messages(...unfiled, listing("[flight-03]"))).toEqual([
    expect.stringContaining('found "flight-03", expected a run by its id or its log'),
  ]);
  expect(await messages(...unfiled, listing("[flight-02, flight-02]"))).toEqual([
    expect.stringContaining('found "flight-02" a second time'),
  ]);
  expect(await messages([bareRun, "log: a/1.bag,"], [weightedRun, "log: b/1.bag,"], listing('["1"]'))).toEqual([
    expect.stringContaining('found "1", which is the name of 2 runs, expected one'),
  ]);
  expect(await messages(listing("[flight-01, flight-02]"))).toEqual([
    expect.stringContaining('runs#1.configuration: found "bare", expected "weighted", which lists the run'),
  ]);
});
