import { measureOf } from "../../catalogue/measures.ts";
import { type CampaignEvaluation, pairsOf } from "../../contract/evaluation.ts";
import { inShown, unitName } from "../../words/amounts.ts";
import { axisAt } from "../../words/places.ts";
import { placeText } from "../movingSentences.ts";
import { familyCells, namedConfigurations, quotedConfiguration } from "../runGroups.ts";
import { shortName } from "../text/nameText.ts";
import { type FigureRow, type figureWidths, intervalFigure } from "./intervalFigure.ts";

export interface PaperFigure {
  readonly name: string;
  readonly caption: string;
  /** of either width */
  readonly svg: (width: (typeof figureWidths)[number]) => string;
}

/** The figures that the flights allow, by name: the differences of each pair, then what moves. */
export function paperFigures(evaluation: CampaignEvaluation): PaperFigure[] {
  return [...pairsOf(evaluation).flatMap(differenceFigures), ...movingFigures(evaluation)];
}

/** @param k  which pair it is: the leading one has no number */
function differenceFigures(pair: CampaignEvaluation, k: number): PaperFigure[] {
  const family = familyCells(pair).filter(({ difference }) => difference !== null);
  const { settings } = pair;
  const unit = family[0]?.unit ?? "m";
  const less = `${quotedConfiguration(pair, settings.candidate)} less ${quotedConfiguration(pair, settings.baseline)}`;
  return [...new Set(family.map(({ subject }) => subject))].map((subject) => {
    const margin = settings.smallest_difference[subject];
    const caption = `The ${subject}: ${less}, with 95 % intervals; left of zero is less; grey: smaller than what matters`;
    return {
      name: `differences-${subject}${k === 0 ? "" : `-${k + 1}`}`,
      caption,
      svg: (width) =>
        intervalFigure({
          title: caption,
          axis: `difference of the ${measureOf(settings.primary).label}, ${unitName(unit)}`,
          margin: margin === null ? null : inShown(margin, unit),
          width,
          rows: family
            .filter((cell) => cell.subject === subject)
            .map((cell) => ({
              name: `${shortName(cell.trajectory)}, ${axisAt(settings.judged_in, cell)}`,
              value: inShown(cell.difference!, unit),
              interval: cell.ci95 === null ? null : [inShown(cell.ci95[0], unit), inShown(cell.ci95[1], unit)],
            })),
        }),
    };
  });
}

function movingFigures(evaluation: CampaignEvaluation): PaperFigure[] {
  const { reasons } = evaluation;
  const units = [...new Set(reasons.moving.map((effect) => effect.unit))];
  return units.map((kind): PaperFigure => {
    const factor = kind === "kg" ? 1000 : 100;
    const rows = reasons.moving
      .filter((effect) => effect.unit === kind)
      .flatMap((effect): FigureRow[] => [
        { name: placeText(evaluation, effect), heading: true },
        ...namedConfigurations(evaluation).flatMap(({ key, name, role }): FigureRow[] => {
          const found = effect.configurations[key];
          if (found === undefined) return [];
          return [
            {
              name: shortName(name),
              value: factor * found.mean,
              interval: found.ci95 === null ? null : [factor * found.ci95[0], factor * found.ci95[1]],
              runs: found.values.map((value) => factor * value),
              expected: found.expected === null ? null : factor * found.expected,
              mark: role === "baseline" ? "circle" : role === "sham" ? "diamond" : "square",
            },
          ];
        }),
      ]);
    return {
      name: units.length > 1 ? `moving-${kind === "kg" ? "mass" : "share"}` : "moving",
      caption: movingCaption,
      svg: (width) =>
        intervalFigure({
          title: movingCaption,
          axis: `apparent moving mass, ${kind === "kg" ? "g" : "% of the whole"}; 0: balanced`,
          margin: null,
          width,
          rows,
        }),
    };
  });
}

const movingCaption =
  "Apparent moving mass as flown: means with 95 % intervals (open: baseline), the runs, and what the declared masses make (grey tick)";
