import { describe, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../../src/contract/evaluation.ts";
import { reportFiles } from "../../../src/pipeline/reportFiles.ts";
import { intervalFigure } from "../../../src/report/paper/intervalFigure.ts";
import { latexTable, latexText } from "../../../src/report/paper/latexTable.ts";
import { methodSentences } from "../../../src/report/paper/methodSentences.ts";
import { paperPage } from "../../../src/report/paper/paperPage.ts";
import { reviewerQuestions } from "../../../src/report/paper/reviewerQuestions.ts";
import { inventedEvaluation, inventedFamily } from "../../support/inventedEvaluation.ts";

const evaluation = (changes: Partial<CampaignEvaluation> = {}): CampaignEvaluation =>
  inventedEvaluation({ cells: inventedFamily(["orbit"]), ...changes });
const file = (found: CampaignEvaluation, path: string): string =>
  reportFiles(found, {}).find((one) => one.path === path)!.text;

describe("the page of a report", () => {
  test("holds every verdict with the numbers of evaluation.json, rounded", () => {
    const found = evaluation();
    const page = paperPage(found, {});
    const rows = [...page.matchAll(/<tr><td>(.*?)<\/tr>/g)].map(([, row]) =>
      row!.split(/<\/td><td(?: class="number")?>/),
    );
    for (const cell of found.cells.filter(({ in_family }) => in_family)) {
      const row = rows.find(
        ([trajectory, subject, axis]) =>
          trajectory === cell.trajectory && subject === cell.subject && axis === cell.axis,
      )!;
      const shown = Number(row[6]);
      const half = 0.5 * 10 ** -(row[6]!.split(".")[1] ?? "").length;
      expect(Math.abs(shown - 1000 * cell.difference!)).toBeLessThanOrEqual(half + 1e-9);
      const [from, to] = row[7]!.replace(/[[\]]/g, "").split(", ").map(Number);
      expect(Math.abs(from! - 1000 * cell.ci95![0])).toBeLessThanOrEqual(half + 1e-9);
      expect(Math.abs(to! - 1000 * cell.ci95![1])).toBeLessThanOrEqual(half + 1e-9);
      expect(row[10]).toBe(cell.verdict);
    }
  });

  test("of several candidates says each pair's answer, with a table and figures of its own", () => {
    const base = evaluation();
    const pair = { baseline: "weighted", candidate: "bare", cells: inventedFamily(["orbit"]) };
    const both = { ...base, further_contrasts: [pair] };
    const page = paperPage(both, {});
    expect(
      [...page.matchAll(/<caption>Verdicts: .*? less .*?, in mm<\/caption>/g)].map(([caption]) => caption),
    ).toEqual([
      expect.stringMatching(/Counterweights fitted.* less .*Arm alone/),
      expect.stringMatching(/Arm alone.* less .*Counterweights fitted/),
    ]);
    const paths = reportFiles(both, {}).map(({ path }) => path);
    expect(paths).toEqual(expect.arrayContaining(["tables/verdicts-2.tex", "figures/differences-vehicle-2-88mm.svg"]));
  });

  test("lets no name be more than words, and needs neither script nor network", () => {
    const hostile = '<img src=x onerror=alert(1)> & "co"';
    const found = evaluation({ title: hostile });
    const page = paperPage(found, { [hostile]: hostile, firmware: "1.8 <beta>" });
    expect(page).not.toContain("<img");
    expect(page).toContain("&lt;img src=x onerror=alert(1)&gt; &amp; &quot;co&quot;");
    expect(page).toContain("<dt>firmware</dt><dd>1.8 &lt;beta&gt;</dd>");
    const plain = paperPage(evaluation(), {});
    expect(plain).not.toMatch(/<script|<link|src=|@import|url\(/);
    const addresses = [...plain.matchAll(/https?:[^"\s<]*/g)].map(([address]) => address);
    expect(addresses.filter((address) => address !== "http://www.w3.org/2000/svg")).toEqual([]);
  });

  test("names runs left out with the reason, thresholds of the lab's own, and the sums of what was read", () => {
    const base = evaluation();
    const [first, ...others] = base.runs;
    const page = paperPage(
      {
        ...base,
        runs: [{ ...first!, used: false, excluded_because: "arm jammed in cycle 4" }, ...others],
        settings: { ...base.settings, thresholds: { ...base.settings.thresholds, gap_intervals: 4 } },
      },
      {},
    );
    expect(page).toContain("excluded: arm jammed in cycle 4");
    expect(page).toMatch(/<td>gap_intervals<\/td><td class="number">4<\/td><td class="number">2.5<\/td>/);
    expect(page).toContain(base.inputs[0]!.sha256);
  });
});

describe("what a reviewer will ask", () => {
  const asks = (found: CampaignEvaluation): string =>
    reviewerQuestions(found)
      .map(({ asks: text }) => text)
      .join("\n");
  const heavier = (base: CampaignEvaluation): CampaignEvaluation["settings"] => ({
    ...base.settings,
    configurations: {
      ...base.settings.configurations,
      weighted: { ...base.settings.configurations.weighted!, added_mass: 0.54 },
    },
  });

  test("few runs, a heavier candidate without a sham, no static capture, several looks: each only where it is so", () => {
    const base = evaluation();
    const plain = {
      ...base,
      cells: base.cells.map((cell) => ({
        ...cell,
        baseline: { ...cell.baseline, n: 8 },
        candidate: { ...cell.candidate, n: 8 },
      })),
      settings: {
        ...base.settings,
        configurations: Object.fromEntries(
          Object.entries(base.settings.configurations).map(([key, one]) => [key, { ...one, added_mass: null }]),
        ),
      },
      audit: { ...base.audit, findings: [], configurations: {} },
    };
    expect(asks(plain)).toBe("");
    const few = plain.cells.map((cell) => ({ ...cell, candidate: { ...cell.candidate, n: 3 } }));
    expect(asks({ ...plain, cells: few })).toMatch(/fewer than 5 runs of a configuration, the least on 3/);
    expect(asks({ ...plain, settings: heavier(plain) })).toContain("540 g heavier, and no sham");
    expect(asks({ ...plain, noise: { ...plain.noise!, source: "in flight" } })).toContain("No static capture");
    expect(asks({ ...plain, looks: { count: 3, first: "2026-05-04T08:00:00.000Z", recorded: true } })).toContain(
      "Looked at 3 times, first on 2026-05-04",
    );
    const opened = { at: "2026-05-04T08:00:00.000Z", exclusions: 0, changed: ["smallest_difference", "runs"] };
    expect(asks({ ...plain, looks: { ...plain.looks, opened } })).toMatch(/^smallest_difference changed after/);
  });

  test("whatever the audit doubts comes first, with what to do", () => {
    const base = evaluation();
    const doubt = { code: "order-drift", severity: "doubt", message: "m", evidence: {}, hint: "h" } as const;
    const [first] = reviewerQuestions({ ...base, audit: { ...base.audit, findings: [doubt] } });
    expect(first).toEqual({ asks: "m", answer: "To do: h." });
  });
});

test("the method names what was set, and when it was declared", () => {
  const text = methodSentences(
    evaluation({ looks: { count: 1, first: "2026-05-04T08:00:00.000Z", recorded: true } }),
  ).join(" ");
  expect(text).toContain(
    "The smallest difference that matters is 1.5 mm, declared when the answer was first seen on 2026-05-04.",
  );
  expect(text).toContain("no filter was applied");
  expect(text).toContain("Holm's procedure");
});

describe("tables for LaTeX", () => {
  test("every character that LaTeX takes for its own is escaped, and a minus is one", () => {
    expect(latexText("50 % of A&B_1 #2 $x {y} ~ ^ \\z")).toBe(
      "50 \\% of A\\&B\\_1 \\#2 \\$x \\{y\\} \\textasciitilde{} \\textasciicircum{} \\textbackslash{}z",
    );
    expect(latexText("[-1.5, 2]; flight-03")).toBe("[$-$1.5, 2]; flight-03");
  });

  test("columns of numbers are siunitx's, wide enough for the widest, and what is no number stands in braces", () => {
    const table = latexTable(
      {
        caption: "c",
        heads: ["what", "size"],
        rows: [
          ["a", "-12.5"],
          ["b", "3.25"],
          ["c", "< 0.001"],
        ],
        numeric: [1],
      },
      "tab:x",
    );
    expect(table).toContain("\\begin{tabular}{l S[table-format=-2.2]}");
    expect(table).toContain("what & {size} \\\\");
    expect(table).toContain("c & {< 0.001} \\\\");
  });
});

test("a figure draws each value, its interval and zero on one scale, whatever the width", () => {
  for (const width of [88, 181] as const) {
    const svg = intervalFigure({
      title: "t",
      axis: "a",
      margin: 1,
      width,
      rows: [
        { name: "one", value: 2, interval: [1, 3] },
        { name: "two", value: -2, interval: null },
      ],
    });
    const squares = [...svg.matchAll(/<rect x="([\d.]+)" y="[\d.]+" width="1.6"/g)].map(([, x]) => Number(x) + 0.8);
    const zero = Number(/<line x1="([\d.]+)" y1="1"/.exec(svg)![1]);
    expect(squares[0]! - zero).toBeCloseTo(zero - squares[1]!, 2);
    const band = /<rect x="([\d.]+)" y="1" width="([\d.]+)"/.exec(svg)!;
    expect(Number(band[2])).toBeCloseTo(squares[0]! - zero, 2);
    expect(Number(band[1])).toBeCloseTo(zero - Number(band[2]) / 2, 2);
    expect(svg).toContain(`width="${width}mm"`);
  }
});

test("the same evaluation gives the same bytes, and the list has the sum of each file", () => {
  const found = evaluation();
  expect(reportFiles(found, {})).toEqual(reportFiles(structuredClone(found), {}));
  const list = JSON.parse(file(found, "report.json")) as { files: { path: string; bytes: number }[] };
  expect(list.files.map(({ path }) => path)).toEqual(
    reportFiles(found, {})
      .map(({ path }) => path)
      .filter((path) => path !== "report.json"),
  );
  expect(file(found, "CITATION.cff")).toMatch(/^cff-version: 1.2.0\n/);
});
