import { element } from "../../app/element.ts";
import { fixed, percentText } from "../../app/words.ts";
import { errorDecimals, errorFiguresTable } from "./errorFigures.ts";
import { figuresTable, numberCell } from "./figuresTable.ts";
import { type RunPage, subjectWords } from "./RunPage.ts";

/** The figures that the evaluation rests on: over the cycles and over the hold, and how steady the attitude was. */
export function trackingSection(page: RunPage): HTMLElement {
  const { campaign, run, subject } = page;
  const decimals = errorDecimals(campaign, subject);
  const parts = (["cycles", "hold"] as const).map((window) => {
    const figures = run.tracking[window]?.[subject];
    if (figures === undefined) return null;
    const { delay } = figures;
    const late = delay === null ? "response delay not known" : `response delay ${fixed(1e3 * delay, 0)} ms`;
    const where = window === "cycles" ? `Over the ${run.windows.cycles.length} cycles` : "Over the hold window";
    return errorFiguresTable(figures, {
      name: `${run.id} ${subject} ${window}`,
      caption: `${where}, ${subjectWords[subject]}${window === "cycles" ? `; ${late}` : ""}`,
      decimals,
    });
  });
  const valid = run.valid_fraction[subject];
  return element("section", { class: "run-tracking", "aria-labelledby": "tracking" }, [
    element("h2", { id: "tracking", text: "Figures of the evaluation" }),
    element("p", {
      class: "quiet",
      text: `As flown, delay included.${valid === undefined ? "" : ` Valid samples in the scored window: ${percentText(valid).replace("+", "")}.`}`,
    }),
    ...(parts.every((part) => part === null)
      ? [element("p", { text: `This run has no scored window for the ${subjectWords[subject]}; the checks say why.` })]
      : parts),
    attitude(page),
  ]);
}

function attitude({ run }: RunPage): HTMLElement | null {
  const { attitude: angles } = run;
  if (angles === null) return null;
  const degrees = (radians: number): string => fixed((radians * 180) / Math.PI, 2);
  return figuresTable({
    name: `${run.id} attitude`,
    caption: "Attitude of the vehicle in the scored window",
    columns: ["angle", "sd, degrees", "rms, degrees"],
    fileColumns: ["angle", "sd, rad", "rms, rad"],
    rows: (["roll", "pitch", "yaw"] as const).map((name) => [
      { text: name },
      numberCell(angles[name].sd, degrees),
      numberCell(angles[name].rms, degrees),
    ]),
  });
}
