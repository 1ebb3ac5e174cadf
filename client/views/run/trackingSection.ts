import { axes } from "../../../src/foundation/tracks.ts";
import { element } from "../../app/element.ts";
import { fixed, lengthText, millimetres, percentText } from "../../app/words.ts";
import { budgetFigure, budgetParts as parts, partWords } from "../../figures/budgetFigure.ts";
import { largeFigure } from "../../figures/figureFrame.ts";
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

/** Of what the effector's error is made, and what it would be if the frames were off; nothing for the other subjects. */
export function budgetSection({ run, subject }: RunPage): HTMLElement | null {
  if (subject !== "effector") return null;
  const { budget } = run;
  const title = "Of what the end effector's error is made";
  if (budget === null) {
    return element("section", {}, [
      element("h2", { text: title }),
      element("p", {
        class: "quiet",
        text: "A budget takes both bodies, a setpoint and a window that can be scored.",
      }),
    ]);
  }
  const { shares } = budget.norm;
  const first = shares === null ? null : parts.reduce((most, part) => (shares[part] > shares[most] ? part : most));
  const { sensitivity } = budget;
  const { length, angle } = sensitivity.uncertainty;
  return element("section", { class: "run-budget", "aria-label": title }, [
    largeFigure(
      {
        name: `${run.id} effector error budget`,
        how: "methods.html#error-budget",
        title,
        caption: `Three vectors that add up to the error: where the vehicle is off, its tilt times the reach of the arm, and the arm's own error; what each makes of the rms (its share of the mean square, in per cent beside the bar), in the ${budget.window === "cycles" ? "cycle window" : "hold window"}. To the left of zero: a part that makes up for another.${first === null ? "" : ` Most comes from: ${partWords[first]}.`}`,
      },
      (width) =>
        budgetFigure([{ name: null, budget }], {
          width,
          label: `What vehicle, tilt and arm make of the end effector's error, run ${run.id}`,
        }),
      { level: 2, wide: true },
    ),
    figuresTable({
      name: `${run.id} effector budget and frames`,
      caption: `Parts, and the rms if tool point and arm base were off by up to ${lengthText(length)} and ${fixed((180 * angle) / Math.PI, 1)}° on every axis`,
      columns: ["axis", "rms, mm", ...parts.map((part) => `${partWords[part]}, mm`), "least, mm", "largest, mm"],
      fileColumns: ["axis", "rms, m", ...parts.map((part) => `${partWords[part]}, m`), "least, m", "largest, m"],
      rows: axes.map((axis) => [
        { text: axis },
        ...[budget[axis].rms, ...parts.map((part) => budget[axis].parts[part]), ...sensitivity[axis].rms_within].map(
          (value) => numberCell(value, (metres) => millimetres(metres, 2)),
        ),
      ]),
    }),
  ]);
}
