import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { cellsTable, costsTable, runsTable } from "../report/paper/csvTables.ts";
import { figureWidths } from "../report/paper/intervalFigure.ts";
import { latexTable } from "../report/paper/latexTable.ts";
import { paperFigures } from "../report/paper/paperFigures.ts";
import { paperPage, type Rig } from "../report/paper/paperPage.ts";
import { paperTables } from "../report/paper/paperTables.ts";
import { listOf, type ReportFile } from "./reportFolder.ts";
import { evaluationJson } from "./writeEvaluation.ts";

/**
 * The files of a report, the same bytes from the same evaluation whatever machine, folder, locale or time zone: page, evaluation,
 * tables for a program and for a paper, figures in two widths, a stub for citing, and the list of all with their sums.
 */
export function reportFiles(evaluation: CampaignEvaluation, rig: Rig): ReportFile[] {
  const tables = [...paperTables(evaluation)].filter(([, { rows }]) => rows.length > 0);
  const files: ReportFile[] = [
    { path: "index.html", what: "the report as one page", text: paperPage(evaluation, rig) },
    { path: "evaluation.json", what: "every number of it, SI", text: evaluationJson(evaluation) },
    { path: "tables/cells.csv", what: "all cells, one a row, SI", text: cellsTable(evaluation) },
    {
      path: "tables/runs.csv",
      what: "tracking error per run, window, subject and axis, SI",
      text: runsTable(evaluation),
    },
    ...(evaluation.costs === null
      ? []
      : [{ path: "tables/costs.csv", what: "what the mass costs, SI", text: costsTable(evaluation) }]),
    ...tables.map(([name, table]) => ({
      path: `tables/${name}.tex`,
      what: `${table.caption}, for LaTeX`,
      text: latexTable(table, `tab:${name}`),
    })),
    ...paperFigures(evaluation).flatMap(({ name, svg }) =>
      figureWidths.map((width) => ({
        path: `figures/${name}-${width}mm.svg`,
        what: `figure, ${width} mm wide`,
        text: `${svg(width)}\n`,
      })),
    ),
    { path: "CITATION.cff", what: "a stub for citing these data: fill in who and where", text: citation(evaluation) },
  ];
  return [...files, listOf(evaluation.title, files)];
}

/** Citation File Format 1.2.0. */
function citation({ title, tool, looks }: CampaignEvaluation): string {
  const quoted = (text: string): string => JSON.stringify(text);
  const day = looks.first?.slice(0, 10);
  return `cff-version: 1.2.0
message: "If you use these data, please cite them as below."
type: dataset
title: ${quoted(title)}
authors:
  - name: "TO BE FILLED IN"
${day === undefined ? "" : `date-released: ${quoted(day)}\n`}references:
  - type: software
    title: ${quoted(tool.name)}
    version: ${quoted(tool.version)}
${tool.commit === null ? "" : `    commit: ${quoted(tool.commit)}\n`}    authors:
      - name: "the developers of ${tool.name}"
`;
}
