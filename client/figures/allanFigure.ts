import type { AllanEvaluation } from "../../src/contract/runExtras.ts";
import { type Axis, axes } from "../../src/foundation/tracks.ts";
import { group, runDrawing } from "./axes.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { logBottomAxis, logLeftAxis, logScale } from "./logAxes.ts";
import { panelsIn } from "./panels.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

type Allan = NonNullable<AllanEvaluation["vehicle"]>;

const panelHeight = 236;

/**
 * Overlapping Allan deviation over the averaging time, one panel per axis on the same scales: the line with its interval as
 * a band, and dashed what the capture's noise alone would leave after averaging (white noise: sd / sqrt(samples)).
 *
 * @param options.noise  sd of the capture per axis, metres; null where unknown
 */
export function allanFigure(
  { tau, x, y, z }: Allan,
  options: { width: number; tone: Tone; label: string; noise: Readonly<Record<Axis, number | null>> },
): Drawing {
  const panels = panelsIn(3, options.width, { left: 62, between: 36, top: 30, height: panelHeight, foot: 54 });
  const panelWidth = panels.width;
  const svg = runDrawing(panels.height, options);
  const own = { x, y, z };
  const floor = (axis: Axis): number[] => {
    const sd = options.noise[axis];
    return sd === null || !(sd > 0) ? [] : tau.map((time) => sd * Math.sqrt(tau[0]! / time));
  };
  const across = logScale(tau, [0, panelWidth], 1.08);
  const up = logScale(
    axes.flatMap((axis) => [...own[axis].low, ...own[axis].high, ...own[axis].deviation, ...floor(axis)]),
    [panelHeight, 0],
  );
  if (across !== null && up !== null) {
    axes.forEach((axis, k) => {
      const panel = group(svg, panels.at(k).x, panels.at(k).y);
      logLeftAxis(panel, up, { per: 1e3, lines: panelWidth, label: `${axis}, mm`, silent: !panels.isFirst(k) });
      logBottomAxis(group(panel, 0, panelHeight), across, { lines: panelHeight, label: "averaged over, s" });
      const { deviation, low, high } = own[axis];
      const point = (at: number, value: number): string => `${across(tau[at]!).toFixed(1)},${up(value).toFixed(1)}`;
      const shown = [...tau.keys()].filter((i) => deviation[i]! > 0 && low[i]! > 0);
      if (shown.length === 0) return;
      const ahead = shown.map((i) => point(i, high[i]!));
      const back = [...shown].reverse().map((i) => point(i, low[i]!));
      panel
        .append("path")
        .attr("class", "interval-curve")
        .attr("d", `M${[...ahead, ...back].join("L")}Z`);
      const line = floor(axis).map((value, i) => point(i, value));
      if (line.length > 1)
        panel
          .append("path")
          .attr("class", "noise-floor")
          .attr("d", `M${line.join("L")}`);
      panel
        .append("path")
        .attr("class", "curve mean")
        .attr("d", `M${shown.map((i) => point(i, deviation[i]!)).join("L")}`);
    });
  }
  return {
    svg: svg.node()!,
    table: {
      columns: ["averaged over, s", ...axes.flatMap((axis) => [`${axis}, mm`, `${axis} from, mm`, `${axis} to, mm`])],
      rows: tau.map((time, i) => [
        time,
        ...axes.flatMap((axis) =>
          [own[axis].deviation, own[axis].low, own[axis].high].map((v) => tableMillimetres(v[i]!)),
        ),
      ]),
    },
  };
}
