import type { SplitFigures } from "../../src/contract/evaluation.ts";
import { type Axis, axes } from "../../src/foundation/tracks.ts";
import { runDrawing } from "./axes.ts";
import { chiSquaredTwo95, confidenceEllipse, squaredDistance } from "./confidenceEllipse.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { panelsIn } from "./panels.ts";
import { phasorOf } from "./plainAxis.ts";
import { drawEllipse, drawVector, polarFrame } from "./polarFrame.ts";
import { degreesText, tableMillimetres, uncertainMillimetres } from "./uncertainMillimetres.ts";

type Harmonic = SplitFigures["harmonics"][number];

const radius = 128;
/** three beside each other from here on: their words take 290 pixels */
const beside = 900;

/** harmonics that are drawn; all of them stand in the table */
const drawn = [1, 2];

/**
 * Synchronous vectors of one run, a polar plot per axis with one millimetre scale: harmonic 1 with its 95 % ellipse,
 * harmonic 2 thinner and dashed. Angle: phi of a cos(k theta + phi), anticlockwise from the right.
 */
export function vectorFigure(
  split: Readonly<Record<Axis, SplitFigures>>,
  options: { width: number; tone: Tone; label: string },
): Drawing {
  const height = 2 * radius + 134;
  const panels = panelsIn(3, options.width, { left: 14, between: 0, top: 0, height, foot: 0, beside });
  const svg = runDrawing(panels.height, options);
  const shown = (axis: Axis): Harmonic[] => split[axis].harmonics.filter(({ k }) => drawn.includes(k));
  const reach = Math.max(
    ...axes.flatMap((axis) =>
      shown(axis).map((harmonic) => {
        const { covariance } = phasorOf(harmonic);
        return harmonic.amplitude + (covariance === null ? 0 : confidenceEllipse(covariance, chiSquaredTwo95).major);
      }),
    ),
  );
  axes.forEach((axis, k) => {
    const x = panels.at(k).x + panels.width / 2;
    const { y } = panels.at(k);
    const frame = polarFrame(svg, { x, y: y + 30 + radius + 22, radius, reach, title: axis });
    for (const harmonic of [...shown(axis)].reverse()) {
      const { vector, covariance } = phasorOf(harmonic);
      const name = `harmonic-${harmonic.k}`;
      if (covariance !== null) {
        drawEllipse(frame, vector, confidenceEllipse(covariance, chiSquaredTwo95), `ellipse ${name}`);
      }
      drawVector(frame, vector, `vector ${name}`, harmonic.k === 1 ? 10 : 7);
    }
    shown(axis).forEach((harmonic, row) => {
      svg
        .append("text")
        .attr("class", "value")
        .attr("x", x)
        .attr("y", y + 30 + 2 * radius + 66 + 19 * row)
        .attr("text-anchor", "middle")
        .text(harmonicText(harmonic));
    });
  });
  return { svg: svg.node()!, table: tableOf(split) };
}

/** "harmonic 1: 0.74 ± 0.57 mm at 90° ± 44°"; no phase where the ellipse holds the centre. */
function harmonicText(harmonic: Harmonic): string {
  const { k, amplitude, amplitude_se, phase, phase_se } = harmonic;
  const size = `harmonic ${k}: ${uncertainMillimetres(amplitude, amplitude_se)} mm`;
  if (!isClear(harmonic)) return `${size}, phase open`;
  return `${size} at ${degreesText(phase)}${phase_se === null ? "" : ` ± ${degreesText(phase_se)}`}`;
}

/** Whether the 95 % ellipse leaves the centre out: else the phase could be any. */
export function isClear(harmonic: Harmonic): boolean {
  const { vector, covariance } = phasorOf(harmonic);
  return covariance !== null && squaredDistance(vector, covariance) > chiSquaredTwo95;
}

function tableOf(split: Readonly<Record<Axis, SplitFigures>>): Drawing["table"] {
  const degrees = (radians: number | null): number | null =>
    radians === null ? null : Number(((radians * 180) / Math.PI).toFixed(2));
  const millimetres = (metres: number | null): number | null => (metres === null ? null : tableMillimetres(metres));
  return {
    columns: [
      "axis",
      "harmonic",
      "amplitude, mm",
      "standard error, mm",
      "phase, degrees",
      "standard error, degrees",
      "cos, mm",
      "sin, mm",
      "95 % ellipse leaves the centre out",
    ],
    rows: axes.flatMap((axis) =>
      split[axis].harmonics.map((harmonic) => [
        axis,
        harmonic.k,
        millimetres(harmonic.amplitude),
        millimetres(harmonic.amplitude_se),
        degrees(harmonic.phase),
        degrees(harmonic.phase_se),
        millimetres(harmonic.cos),
        millimetres(harmonic.sin),
        isClear(harmonic) ? "yes" : "no",
      ]),
    ),
  };
}
