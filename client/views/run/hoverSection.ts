import type { HoverAnswer } from "../../../src/contract/api/runAnswers.ts";
import { axes } from "../../../src/foundation/tracks.ts";
import { element } from "../../app/element.ts";
import { decimalsFor, fixed, intervalText, millimetres, noValue } from "../../app/words.ts";
import { largeFigure } from "../../figures/figureFrame.ts";
import { hoverFigure } from "../../figures/hoverFigure.ts";
import { windowText } from "./checksSection.ts";
import { errorDecimals } from "./errorFigures.ts";
import { figuresTable, numberCell } from "./figuresTable.ts";
import { frameWords, type RunPage, subjectWords } from "./RunPage.ts";

/** Hover drift: the scatter from above with its circles, and the figures per axis. */
export function hoverSection(page: RunPage, answer: HoverAnswer | null): HTMLElement {
  const { run, subject } = page;
  const figures = run.hold?.[subject];
  const head = element("h2", { id: "hover", text: `Hover drift of the ${subjectWords[subject]}` });
  if (figures === undefined || answer === null || answer.window === null) {
    return element("section", { class: "run-hover", "aria-labelledby": "hover" }, [
      head,
      element("p", { class: "quiet", text: "No hold window was found in this run; the checks say why." }),
    ]);
  }
  const each = answer.every === 1 ? "every sample" : `one in ${answer.every} of ${answer.n} samples`;
  return element("section", { class: "run-hover", "aria-labelledby": "hover" }, [
    head,
    element("div", { class: "hover-parts" }, [
      largeFigure(
        {
          name: `${run.id} ${subject} hover`,
          how: "methods.html#slope-of-a-hover",
          title: "From above, in the hold window",
          caption: `${windowText(answer.window)}, ${each}, in ${frameWords(answer.frame)}. + setpoint, × mean; R50 and R95 hold half and 95 % of the positions, solid about the mean, dashed about the setpoint.`,
        },
        (width) =>
          hoverFigure(answer, figures, {
            width,
            tone: page.tone,
            label: `Hover scatter of the ${subjectWords[subject]}, run ${run.id}, with R50 and R95 circles`,
          }),
      ),
      element("div", { class: "hover-figures" }, tables(page, figures)),
    ]),
  ]);
}

function tables(
  page: RunPage,
  figures: NonNullable<NonNullable<RunPage["run"]["hold"]>[RunPage["subject"]]>,
): HTMLElement[] {
  const { campaign, run, subject } = page;
  const decimals = errorDecimals(campaign, subject);
  const text = (metres: number): string => millimetres(metres, decimals);
  const slopes = axes.map((axis) => figures[axis].slope_se).filter((se) => se !== null);
  const slopeDecimals = slopes.length === 0 ? 3 : Math.max(...slopes.map((value) => decimalsFor(value)));
  return [
    figuresTable({
      name: `${run.id} ${subject} hover drift`,
      caption: "Drift per axis",
      columns: [
        "axis",
        "bias, mm",
        "sd, mm",
        "slope, mm/s",
        "95 % interval",
        "end − start, mm",
        "sd slow, mm",
        "sd fast, mm",
      ],
      rows: axes.map((axis) => {
        const own = figures[axis];
        return [
          { text: axis },
          numberCell(own.bias, text),
          numberCell(own.sd, text),
          numberCell(own.slope, (slope) => fixed(1e3 * slope, slopeDecimals)),
          { text: own.slope_ci === null ? noValue : intervalText(own.slope_ci, "m", slopeDecimals) },
          numberCell(own.end_minus_start, text),
          numberCell(own.sd_low, text),
          numberCell(own.sd_high, text),
        ];
      }),
      fileColumns: [
        "axis",
        "bias, m",
        "sd, m",
        "slope, m/s",
        "95 % interval, mm/s",
        "end less start, m",
        "sd slow, m",
        "sd fast, m",
      ],
    }),
    element("p", {
      class: "quiet small",
      text: "A slope whose interval holds 0 is no drift that this window can show. Slow and fast: below and above 1 Hz.",
    }),
    figuresTable({
      name: `${run.id} ${subject} hover radii`,
      caption: "Radii in the horizontal plane",
      columns: ["about", "R50, mm", "R95, mm"],
      fileColumns: ["about", "R50, m", "R95, m"],
      rows: [
        [
          { text: "setpoint (accuracy)" },
          numberCell(figures.about_setpoint.r50, text),
          numberCell(figures.about_setpoint.r95, text),
        ],
        [
          { text: "mean (steadiness)" },
          numberCell(figures.about_mean.r50, text),
          numberCell(figures.about_mean.r95, text),
        ],
      ],
    }),
  ];
}
