import { axes } from "../../../src/foundation/signals.ts";
import { element } from "../../app/element.ts";
import { fixed, lengthText, millimetres } from "../../app/words.ts";
import { budgetFigure, budgetParts as parts, partWords } from "../../figures/budgetFigure.ts";
import { largeFigure } from "../../figures/largeFigure.ts";
import { figuresTable, numberCell } from "./figuresTable.ts";
import type { RunPage } from "./RunPage.ts";

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
