import { scaleLinear } from "d3";
import type { BudgetEvaluation } from "../../src/contract/runExtras.ts";
import { shortName } from "../app/element.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, bottomAxis, drawingId, type Group, group, type Scale, type Svg } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

const channels = ["x", "y", "z", "norm"] as const;
export const budgetParts = ["vehicle", "attitude", "arm"] as const;
export const partWords = { vehicle: "vehicle", attitude: "tilt × reach", arm: "arm" } as const;

const top = 26;
const barHeight = 15;
/** of a channel's name; of a bar with its words above; and what is free below a channel */
const [nameHeight, rowHeight, free] = [20, 38, 12] as const;
/** room for the shares, right of the longest bar */
const shareRoom = 104;

type Budget = Pick<BudgetEvaluation, "x" | "y" | "z" | "norm">;
type Part = (typeof budgetParts)[number];
type Fills = Readonly<Record<Part, string | null>>;

/** What is drawn of one configuration, or of one run. */
export interface NamedBudget {
  /** null: of the run that the whole page is about */
  readonly name: string | null;
  readonly budget: Budget;
}

/** Each part's piece of the rms, metres: its share of the mean square times the rms, so that the pieces add up to the rms. */
export function budgetPieces({ rms, shares }: Budget["norm"]): Readonly<Record<Part, number>> | null {
  if (shares === null) return null;
  return { vehicle: shares.vehicle * rms, attitude: shares.attitude * rms, arm: shares.arm * rms };
}

/** From where to where the bars of budgets reach, metres. */
export function budgetReach(budgets: readonly Budget[]): [number, number] {
  let [least, most] = [0, 0];
  for (const budget of budgets) {
    for (const channel of channels) {
      const pieces = Object.values(budgetPieces(budget[channel]) ?? { all: budget[channel].rms });
      least = Math.min(
        least,
        pieces.reduce((sum, piece) => sum + Math.min(0, piece), 0),
      );
      most = Math.max(
        most,
        pieces.reduce((sum, piece) => sum + Math.max(0, piece), 0),
      );
    }
  }
  return [least, most > least ? most : least + 1e-3];
}

/**
 * The effector's rms in millimetres, per axis a bar of each budget under the other, cut into what vehicle, tilt and arm make of it.
 * What adds goes to the right of zero, what makes up for another part to the left. Patterns tell the parts apart without colour.
 *
 * @param options.reach  of the scale, metres; several drawings with one can be compared by their lengths
 */
export function budgetFigure(
  budgets: readonly NamedBudget[],
  options: { width: number; label: string; reach?: readonly [number, number] },
): Drawing {
  const { width } = options;
  const channelHeight = nameHeight + budgets.length * rowHeight + free;
  const foot = channels.length * channelHeight;
  const svg = blankDrawing(width, top + foot + 40, options.label);
  svg.classed("run-drawing budget-drawing", true);
  const x = scaleLinear()
    .domain(options.reach ?? budgetReach(budgets.map(({ budget }) => budget)))
    .range([8, width - shareRoom]);
  const fills = patternsIn(svg);
  drawLegend(group(svg, 8, 12, "legend"), fills);
  const panel = group(svg, 0, top);
  bottomAxis(group(panel, 0, foot), x, { per: 1e3, ticks: width / 90, lines: foot, label: "part of the rms, mm" });
  panel.append("line").attr("class", "zero").attr("x1", x(0)).attr("x2", x(0)).attr("y2", foot);
  channels.forEach((channel, k) => {
    const own = group(panel, 0, k * channelHeight);
    words(own, x(0) + 4, nameHeight - 4, "value halo", channel === "norm" ? "all axes" : channel);
    budgets.forEach(({ name, budget }, row) => {
      const line = group(own, 0, nameHeight + row * rowHeight);
      const rms = `${fixed(1e3 * budget[channel].rms, 2)} mm`;
      const most = Math.floor(width / 7) - 12;
      words(line, x(0) + 4, 13, "number halo", name === null ? rms : `${shortName(name, most)}: ${rms}`);
      drawBar(group(line, 0, 18), budget[channel], x, fills);
    });
  });
  return { svg: svg.node()!, table: tableOf(budgets) };
}

function words(parent: Group, x: number, y: number, name: string, text: string): void {
  parent.append("text").attr("class", name).attr("x", x).attr("y", y).text(text);
}

/** Defines the patterns of the parts; null: a part is filled by its class. */
function patternsIn(svg: Svg): Fills {
  const [hatch, dots] = [drawingId("hatch"), drawingId("dots")];
  const defs = svg.append("defs");
  const pattern = defs.append("pattern").attr("id", hatch).attr("width", 6).attr("height", 6);
  pattern.attr("patternUnits", "userSpaceOnUse").attr("patternTransform", "rotate(45)");
  pattern.append("rect").attr("class", "part-attitude").attr("width", 6).attr("height", 6);
  pattern.append("rect").attr("class", "part-line").attr("width", 2).attr("height", 6);
  const dotted = defs.append("pattern").attr("id", dots).attr("width", 8).attr("height", 8);
  dotted.attr("patternUnits", "userSpaceOnUse");
  dotted.append("rect").attr("class", "part-ground").attr("width", 8).attr("height", 8);
  dotted.append("circle").attr("class", "part-dot").attr("cx", 4).attr("cy", 4).attr("r", 1.2);
  return { vehicle: null, attitude: `url(#${hatch})`, arm: `url(#${dots})` };
}

/** The pieces, and beside them the shares in the order of the legend: on a hatching they could not be read. */
function drawBar(bar: Group, figures: Budget["norm"], x: Scale, fills: Fills): void {
  const pieces = budgetPieces(figures);
  if (pieces === null) return;
  let [right, back] = [0, 0];
  for (const part of budgetParts) {
    const piece = pieces[part];
    const [from, to] = piece >= 0 ? [right, right + piece] : [back + piece, back];
    if (piece >= 0) right = to;
    else back = from;
    const mark = bar.append("rect").attr("class", `part part-${part}`).attr("x", x(from));
    mark.attr("width", Math.max(0, x(to) - x(from))).attr("height", barHeight);
    if (fills[part] !== null) mark.attr("fill", fills[part]);
  }
  const shares = budgetParts.map((part) => fixed(100 * figures.shares![part], 0)).join(" · ");
  words(bar, x(right) + 6, barHeight - 3, "number halo", `${shares} %`);
}

function drawLegend(legend: Group, fills: Fills): void {
  budgetParts.forEach((part, k) => {
    const at = [0, 80, 186][k]!;
    const mark = legend.append("rect").attr("class", `part part-${part}`).attr("x", at).attr("y", -10);
    mark.attr("width", 14).attr("height", 12);
    if (fills[part] !== null) mark.attr("fill", fills[part]);
    words(legend, at + 19, 0, "number", partWords[part]);
  });
}

function tableOf(budgets: readonly NamedBudget[]): Drawing["table"] {
  const named = budgets.some(({ name }) => name !== null);
  return {
    columns: [
      ...(named ? ["configuration"] : []),
      "axis",
      "rms, mm",
      ...budgetParts.flatMap((part) => [`${partWords[part]} rms, mm`, `${partWords[part]} share`]),
    ],
    rows: budgets.flatMap(({ name, budget }) =>
      channels.map((channel) => [
        ...(named ? [name] : []),
        channel === "norm" ? "all axes" : channel,
        tableMillimetres(budget[channel].rms),
        ...budgetParts.flatMap((part) => [
          tableMillimetres(budget[channel].parts[part]),
          budget[channel].shares === null ? null : Number(budget[channel].shares[part].toFixed(4)),
        ]),
      ]),
    ),
  };
}
