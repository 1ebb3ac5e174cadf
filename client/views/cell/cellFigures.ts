import type { CellAnswer } from "../../../src/contract/api/cellAnswers.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { measureLabel } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { placeName } from "../../app/names.ts";
import type { Drawing } from "../../figures/Figure.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { leaveOneOutFigure } from "../../figures/leaveOneOutFigure.ts";
import { permutationFigure } from "../../figures/permutationFigure.ts";
import { powerFigure } from "../../figures/powerFigure.ts";
import { runsFigure } from "../../figures/runsFigure.ts";
import { type CellLabels, permutationText, runsNeededText } from "./cellWords.ts";

/** The drawings of a cell's page, each in its frame; what cannot be drawn says why. */
export function cellFigures(answer: CellAnswer, labels: CellLabels): HTMLElement {
  const { cell, permutation, power } = answer;
  const where = placeName(cell);
  const { decimals } = labels;
  const framed = (
    name: string,
    title: string,
    caption: string,
    draw: (text: { title: string; description: string; decimals: number; unit: Cell["unit"] }) => Drawing,
  ): HTMLElement =>
    figureFrame(
      { name: `${name}-${cell.trajectory}-${cell.subject}-${cell.axis}-${cell.metric}`, title, caption },
      draw({ title: `${title}: ${where}`, description: caption, decimals, unit: cell.unit }),
    );
  const missing = (title: string, text: string): HTMLElement =>
    element("section", { class: "figure" }, [element("h3", { text: title }), element("p", { class: "quiet", text })]);
  return element("div", { class: "cell-figures" }, [
    element("h2", { text: "What it rests on" }),
    framed("runs", `Runs and their difference`, runsCaption(answer), (text) =>
      runsFigure(answer, { ...text, ...labels }),
    ),
    answer.leave_one_out.length === 0 || cell.difference === null
      ? missing("Without each run in turn", "There are too few runs to leave one out.")
      : framed(
          "leave-one-out",
          "Without each run in turn",
          cell.in_family
            ? "The comparison made again without each run, the other cells kept; the verdict of each at the right, in strong type where it changes."
            : "The comparison made again without each run; p of each at the right.",
          (text) => leaveOneOutFigure(answer, text),
        ),
    permutation === null
      ? missing("Labels rearranged", "There are too few runs to rearrange the labels.")
      : framed("permutation", "Labels rearranged", permutationText(permutation), (text) =>
          permutationFigure(permutation, text),
        ),
    power === null
      ? missing("Runs needed", whyNoPower(cell))
      : framed(
          "runs-needed",
          "Runs needed",
          `${runsNeededText(cell)} Solid: spread as estimated; dashed: at the low and high end of its own uncertainty.`,
          (text) => powerFigure(power, cell, text),
        ),
  ]);
}

function whyNoPower({ in_family: inFamily, smallest_difference: smallest }: CellAnswer["cell"]): string {
  if (!inFamily) return "Runs are asked for where a verdict is sought; this cell is exploratory.";
  if (smallest === null) return "It cannot be said: no smallest difference is declared in the manifest.";
  return "It cannot be said: these runs show no spread.";
}

function runsCaption({ cell, runs }: CellAnswer): string {
  const cycles = cell.metric === "rms" ? " Small marks: its cycles, which are no replicates." : "";
  const blocked =
    cell.method === "blocked"
      ? " The difference is taken within blocks; it need not lie exactly below the candidate's mean, and can be surer than the scatter of all runs together."
      : "";
  const out = runs.some(({ used }) => !used) ? " Runs that do not count are struck through." : "";
  const below =
    cell.difference === null
      ? ""
      : ` Below, on the same scale: the difference with its 95 % (thin) and 90 % interval (thick)${cell.smallest_difference === null ? "" : ", and the smallest difference that matters (green band)"}.`;
  return `Each sign is the ${measureLabel(cell.metric)} of one run.${cycles} Upright line and grey: mean and its 95 % interval.${below}${blocked}${out}`;
}
