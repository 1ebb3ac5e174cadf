import { scaleLinear } from "d3";
import type { SpectrumEvaluation } from "../../src/contract/runExtras.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { bottomAxis, type Group, group, leftAxis, runDrawing } from "./axes.ts";
import { type ComparedCurve, legend, legendRows } from "./comparisonFigure.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { type LogScale, logBottomAxis, logLeftAxis, logScale } from "./logAxes.ts";
import { panelsIn } from "./panels.ts";

export type SubjectSpectrum = NonNullable<SpectrumEvaluation["subjects"]["vehicle"]>;

const panelHeight = 232;

/** A spectrum among others; alone it needs no name. */
interface NamedSpectrum extends Pick<ComparedCurve, "name" | "tone"> {
  readonly spectrum: SubjectSpectrum;
}

/** Density of the error of one run. */
export function spectrumFigure(
  spectrum: SubjectSpectrum,
  options: { width: number; tone: Tone; label: string },
): Drawing {
  return spectraFigure([{ name: "", tone: options.tone, spectrum }], options);
}

/**
 * Density of the error over frequency, one panel per axis on the same scales; the harmonics of the first one's cycle marked and numbered.
 *
 * @param spectra  one, or several over each other with a legend
 */
export function spectraFigure(
  spectra: readonly NamedSpectrum[],
  options: { width: number; tone: Tone; label: string },
): Drawing {
  const isAlone = spectra.length === 1;
  const rows = isAlone ? [] : legendRows(spectra, options.width - 80);
  const head = 18 * rows.length;
  const panels = panelsIn(3, options.width, { left: 66, between: 40, top: 44, height: panelHeight, foot: 54 });
  const panelWidth = panels.width;
  const svg = runDrawing(panels.height + head, options).classed("compared", !isAlone);
  for (const [k, row] of rows.entries()) legend(group(svg, 66, 14 + 18 * k), row);
  const { harmonics, factors } = spectra[0]!.spectrum;
  const positive = ({ frequency }: SubjectSpectrum): number => frequency.findIndex((f) => f > 0);
  const across = logScale(
    spectra.flatMap(({ spectrum }) => spectrum.frequency),
    [0, panelWidth],
    1.02,
  );
  const up = logScale(
    spectra.flatMap(({ spectrum }) => axes.flatMap((axis) => spectrum[axis].slice(positive(spectrum)))),
    [panelHeight, 0],
  );
  if (across !== null && up !== null) {
    axes.forEach((axis, k) => {
      const panel = group(svg, panels.at(k).x, panels.at(k).y + head);
      logLeftAxis(panel, up, { per: 1e6, lines: panelWidth, label: `${axis}, mm²/Hz`, silent: !panels.isFirst(k) });
      logBottomAxis(group(panel, 0, panelHeight), across, { lines: panelHeight, label: "frequency, Hz" });
      markHarmonics(panel, across, harmonics, panelHeight);
      for (const { tone, spectrum } of spectra) {
        const first = positive(spectrum);
        const values = spectrum[axis];
        const line = spectrum.frequency
          .map((f, i) =>
            i < first || !(values[i]! > 0) ? null : `${across(f).toFixed(1)},${up(values[i]!).toFixed(1)}`,
          )
          .filter((point) => point !== null);
        panel
          .append("g")
          .attr("class", isAlone ? "" : `compared-${tone}`)
          .append("path")
          .attr("class", isAlone ? "curve mean" : "compared-mean")
          .attr("d", first < 0 ? "" : `M${line.join("L")}`);
      }
      if (k === 0) intervalBar(group(panel, panelWidth - 16, 0, "interval-bar"), up, factors);
    });
  }
  return {
    svg: svg.node()!,
    table: {
      columns: [...(isAlone ? [] : ["run"]), "frequency, Hz", ...axes.map((axis) => `${axis}, mm²/Hz`)],
      rows: spectra.flatMap(({ name, spectrum }) =>
        spectrum.frequency.map((f, i) => [
          ...(isAlone ? [] : [name]),
          f,
          ...axes.map((axis) => Number((1e6 * spectrum[axis][i]!).toPrecision(5))),
        ]),
      ),
    },
  };
}

/** Dotted lines at the harmonics that lie within the scale, with their numbers above. */
function markHarmonics(
  panel: Group,
  across: LogScale,
  harmonics: readonly { readonly k: number; readonly frequency: number }[],
  panelHeight: number,
): void {
  const [low, high] = across.domain() as [number, number];
  let free = Number.NEGATIVE_INFINITY;
  for (const { k, frequency } of harmonics) {
    if (frequency < low || frequency > high) continue;
    const at = across(frequency);
    panel.append("line").attr("class", "harmonic").attr("x1", at).attr("x2", at).attr("y1", 0).attr("y2", panelHeight);
    // numbers that would touch are left out: the lines count on
    if (at < free) continue;
    free = at + 20;
    const number = panel.append("text").attr("class", "number halo").attr("x", at).attr("y", 12);
    number.attr("text-anchor", "middle").text(`${k}×`);
  }
}

/** How far the density of one bin may lie off: the interval's two factors on the logarithmic scale, as one bar. */
function intervalBar(bar: Group, up: LogScale, [from, to]: readonly [number, number]): void {
  const [low, high] = up.domain() as [number, number];
  const middle = Math.exp(0.25 * Math.log(low) + 0.75 * Math.log(high));
  const [a, b] = [up(middle * to), up(middle * from)];
  bar.append("path").attr("class", "interval").attr("d", `M-4,${a}h8M0,${a}V${b}M-4,${b}h8`);
  bar
    .append("text")
    .attr("class", "number halo")
    .attr("x", -8)
    .attr("y", (a + b) / 2)
    .attr("dy", "0.34em")
    .attr("text-anchor", "end")
    .text("95 %");
}

type ArmCoherence = NonNullable<SpectrumEvaluation["coherence"]>;

const coherenceHeight = 176;

/**
 * Coherence of the vehicle's error with the arm's motion over frequency, one panel per axis; dashed the level that chance
 * exceeds in 5 of 100 bins; the cycle's harmonics marked.
 */
export function coherenceFigure(
  coherence: ArmCoherence,
  options: { width: number; tone: Tone; label: string },
): Drawing {
  const panels = panelsIn(3, options.width, { left: 62, between: 36, top: 36, height: coherenceHeight, foot: 58 });
  const panelWidth = panels.width;
  const svg = runDrawing(panels.height, options);
  const { frequency, harmonics, significance } = coherence;
  const x = scaleLinear()
    .domain([0, frequency.at(-1) ?? 1])
    .range([0, panelWidth]);
  const y = scaleLinear().domain([0, 1]).range([coherenceHeight, 0]);
  axes.forEach((axis, k) => {
    const panel = group(svg, panels.at(k).x, panels.at(k).y);
    leftAxis(panel, y, { values: [0, 0.5, 1], lines: panelWidth, label: `${axis}`, silent: !panels.isFirst(k) });
    bottomAxis(group(panel, 0, coherenceHeight), x, { label: "frequency, Hz" });
    for (const { k: number, frequency: at } of harmonics) {
      if (at > x.domain()[1]!) continue;
      panel
        .append("line")
        .attr("class", "harmonic")
        .attr("x1", x(at))
        .attr("x2", x(at))
        .attr("y1", 0)
        .attr("y2", coherenceHeight);
      panel
        .append("text")
        .attr("class", "number")
        .attr("x", x(at))
        .attr("y", -3)
        .attr("text-anchor", "middle")
        .text(`${number}×`);
    }
    panel
      .append("line")
      .attr("class", "noise-floor")
      .attr("x2", panelWidth)
      .attr("y1", y(significance))
      .attr("y2", y(significance));
    const line = frequency.map((f, i) => `${x(f).toFixed(1)},${y(coherence[axis][i]!).toFixed(1)}`);
    panel
      .append("path")
      .attr("class", "curve mean")
      .attr("d", `M${line.join("L")}`);
  });
  return {
    svg: svg.node()!,
    table: {
      columns: ["frequency, Hz", ...axes.map((axis) => `coherence ${axis}`)],
      rows: frequency.map((f, i) => [f, ...axes.map((axis) => Number(coherence[axis][i]!.toFixed(4)))]),
    },
  };
}
