import { element } from "../../app/element.ts";
import { fixed, millimetres, noValue } from "../../app/words.ts";
import { figuresTable, numberCell, type TableCell } from "./figuresTable.ts";
import { type RunPage, subjectWords } from "./RunPage.ts";

/** the standard's number of cycles */
const standardCycles = 10;
/** a larger share of samples nearest to the end of the search is reported */
const mostAtEdge = 0.02;

/** Distance from the commanded path whatever the timing, and the path figures of ISO 9283. */
export function standardPathSection(page: RunPage): HTMLElement {
  const { run, subject } = page;
  const path = run.path?.[subject];
  const title = `Path figures of the ${subjectWords[subject]}`;
  if (path === undefined) {
    const why =
      run.windows.cycles.length === 0
        ? "No whole cycles were found in this run."
        : `The command of the ${subjectWords[subject]} stands still, or gives no path that could be followed.`;
    return element("section", {}, [element("h2", { text: title }), element("p", { class: "quiet", text: why })]);
  }
  const counted =
    path.cycles === standardCycles
      ? "10 cycles, as the standard has it"
      : `${path.cycles} cycles (the standard has ${standardCycles})`;
  const left =
    path.cycles_left_out === 0 ? "" : `, ${path.cycles_left_out} at the start left out while the motion settles`;
  return element("section", { class: "run-standard-path", "aria-label": title }, [
    element("h2", { text: title }),
    element("p", {
      class: "quiet",
      text: `Over ${counted}${left}. The path was searched ${fixed(path.window, 2)} s before and after each sample, so that branches that cross are kept apart; ${path.points} of ${path.points_of} points of the path were reached in every cycle.`,
    }),
    figuresTable({
      name: `${run.id} ${subject} path figures`,
      caption: "Contour distance, and path figures after ISO 9283:1998",
      columns: ["figure", "value", "what it is"],
      rows: pathRows(path),
    }),
    path.contour.edge_share > mostAtEdge
      ? element("p", {
          class: "quiet small",
          text: `${fixed(100 * path.contour.edge_share, 0)} % of the samples were nearest to the end of what was searched: the motion comes further behind than that, and these distances are upper bounds.`,
        })
      : null,
    path.accuracy === null
      ? element("p", { class: "quiet small", text: `${noValue}: no point of the path was reached in every cycle.` })
      : null,
  ]);
}

type PathFigures = NonNullable<NonNullable<RunPage["run"]["path"]>[RunPage["subject"]]>;

function pathRows(path: PathFigures): TableCell[][] {
  const { contour, velocity } = path;
  const mm = (metres: number): string => millimetres(metres, 2);
  const percent = (ratio: number): string => `${fixed(100 * ratio, 2)} %`;
  const row = (name: string, what: string, cell: TableCell): TableCell[] => [{ text: name }, cell, { text: what }];
  return [
    row(
      "contour distance, rms",
      "distance from the commanded path, whatever the timing, mm",
      numberCell(contour.rms, mm),
    ),
    row("contour distance, 95th percentile", "95 of 100 samples are nearer, mm", numberCell(contour.p95, mm)),
    row("contour distance, largest", "mm", numberCell(contour.max, mm)),
    row(
      "path accuracy AT",
      "largest distance of the mean attained path from the commanded one, mm",
      numberCell(path.accuracy, mm),
    ),
    row(
      "path repeatability RT",
      "how far cycles scatter about their mean path: mean + 3 sd at the worst point, mm",
      numberCell(path.repeatability, mm),
    ),
    row(
      "velocity accuracy AV",
      "mean speed along the path against the commanded one",
      numberCell(velocity?.accuracy ?? null, percent),
    ),
    row(
      "velocity repeatability RV",
      "scatter of the cycles' mean speeds, 3 sd, against the commanded speed",
      numberCell(velocity?.repeatability ?? null, percent),
    ),
    row(
      "velocity fluctuation FV",
      "largest swing of the speed within a cycle, mm/s",
      numberCell(velocity?.fluctuation ?? null, (speed) => fixed(1e3 * speed, 1)),
    ),
    row(
      "commanded speed",
      "length of the path over its time, mm/s",
      numberCell(velocity?.commanded ?? null, (speed) => fixed(1e3 * speed, 1)),
    ),
  ];
}
