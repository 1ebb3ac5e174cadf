import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { parse } from "yaml";
import { openQuestions, withAnswers } from "../../../src/contract/manifest/openQuestions.ts";

const draft = [
  "\uFEFFtitle: <TITLE>   # of the campaign",
  'baseline: "<BASELINE>"     # of ohne, mit: what the others are compared with',
  "smallest_difference: <LENGTH>     # the smallest change that would matter, such as 1.5 mm",
  "configurations:",
  "  ohne: { label: 'Ohne <Gewichte>' }",
  "  mit: { label: mit, runs: <RUNS>, added_mass: <MASS> }     # the runs flown so; what was added",
  "frames:",
  "  tool_point: <TOOL_POINT>     # of the marker's frame",
  "signals:",
  "  vehicle_pose: { topic: /a, axes: &world { world: <WORLD> } }",
  "  vehicle_setpoint: { topic: /b, axes: *world }",
  "trajectories: { kreis: { shape: circle, plane: <PLANE>, radius: <RADIUS>, period: <PERIOD>, cycles: <COUNT> } }",
  "runs:",
  "  - { log: tag1/a.bag, trajectory: kreis }",
  "  - { log: tag2/a.bag, trajectory: kreis }",
  '  - { logs: { mocap: "flug 3.csv", onboard: c.ulg }, trajectory: kreis }',
  "  - { log: d.bag, id: dritter, trajectory: kreis }",
  "# <NO_QUESTION> in a comment",
  "",
].join("\r\n");

describe("what a draft leaves open", () => {
  test("is found once each, with where it stands, what is said beside it and how it is answered", () => {
    expect(openQuestions(draft).map(({ path, line, remark, kind }) => [path.join("."), line, remark, kind])).toEqual([
      ["title", 1, "of the campaign", "text"],
      ["baseline", 2, "of ohne, mit: what the others are compared with", "choice"],
      ["smallest_difference", 3, "the smallest change that would matter, such as 1.5 mm", "length"],
      ["configurations.mit.runs", 6, "the runs flown so", "runs"],
      ["configurations.mit.added_mass", 6, "what was added", "mass"],
      ["frames.tool_point", 8, "of the marker's frame", "point"],
      ["signals.vehicle_pose.axes.world", 10, "", "choice"],
      ["trajectories.kreis.plane", 12, "", "choice"],
      ["trajectories.kreis.radius", 12, "", "length"],
      ["trajectories.kreis.period", 12, "", "time"],
      ["trajectories.kreis.cycles", 12, "", "count"],
    ]);
  });

  test("offers the configurations, and the runs as a list may call them: by path where two logs have one name", () => {
    const choices = (key: string) => openQuestions(draft).find(({ path }) => path.at(-1) === key)?.choices;
    expect(choices("baseline")).toEqual(["ohne", "mit"]);
    expect(choices("runs")).toEqual(["tag1/a.bag", "tag2/a.bag", "flug 3", "dritter"]);
    expect(choices("plane")).toEqual(["xy", "xz", "yz"]);
  });

  test("says of each run what was flown and when, as far as the draft does", () => {
    const text = [
      "configurations: { mit: { runs: <RUNS> } }",
      "runs:",
      '  - { log: a.bag, trajectory: kreis, started: "2025-10-14T08:10:37Z" }',
      "  - { log: b.bag, trajectory: <TRAJECTORY> }",
      "  - { log: c.bag, started: 08:10 }",
    ].join("\n");
    expect(openQuestions(text)[0]!.details).toEqual(["kreis, 2025-10-14 08:10", "", "08:10"]);
  });

  test("is nothing in a text that is no YAML", () => {
    expect(openQuestions("a: [<B>")).toEqual([]);
  });
});

describe("answers", () => {
  test("stand in their places, and every other byte stays: comments, order, quotes, line ends, the byte order mark", () => {
    const questions = openQuestions(draft);
    const of = (key: string) => questions.find(({ path }) => path.at(-1) === key)!;
    const { text, ranges } = withAnswers(draft, [
      { question: of("tool_point"), answer: ["0 mm", "0 mm", "-45 mm"] },
      { question: of("title"), answer: 'Prüfung "Süd": Nr. #3' },
      { question: of("cycles"), answer: "12" },
      { question: of("runs"), answer: ["tag1/a.bag", "flug 3"] },
    ]);
    expect(text).toBe(
      draft
        .replace("<TITLE>", "'Prüfung \"Süd\": Nr. #3'")
        .replace("<TOOL_POINT>", "[0 mm, 0 mm, -45 mm]")
        .replace("<COUNT>", "12")
        .replace("<RUNS>", "[tag1/a.bag, flug 3]"),
    );
    expect(ranges.map(([from, to]) => text.slice(from, to))).toEqual([
      "[0 mm, 0 mm, -45 mm]",
      "'Prüfung \"Süd\": Nr. #3'",
      "12",
      "[tag1/a.bag, flug 3]",
    ]);
    expect(openQuestions(text).map(({ path }) => path.join("."))).toEqual(
      questions.map(({ path }) => path.join(".")).filter((path) => !/tool_point|title|cycles|runs/.test(path)),
    );
  });

  test("are read back by another reader of YAML as they were given, whatever is written", () => {
    const line = fc.string({ unit: "grapheme", minLength: 1, maxLength: 30 }).filter((text) => {
      // biome-ignore lint/suspicious/noControlCharactersInRegex: the request refuses them
      return text.trim() === text && !/[\u0000-\u001f\u007f-\u009f\u2028\u2029\uFEFF]/.test(text);
    });
    fc.assert(
      fc.property(fc.oneof(line, fc.array(line, { minLength: 1, maxLength: 4 })), (answer) => {
        const before = "a: <A> # kept\nb: { c: <C>, d: 1 }\n";
        const { text } = withAnswers(
          before,
          openQuestions(before).map((question) => ({ question, answer })),
        );
        expect(parse(text, { schema: "failsafe" })).toEqual({ a: answer, b: { c: answer, d: "1" } });
        expect(text).toContain(" # kept\n");
      }),
      { seed: 24, numRuns: 300 },
    );
  });
});
