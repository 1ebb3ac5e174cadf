import { axes } from "../../../src/foundation/tracks.ts";
import { element } from "../../app/element.ts";
import { fixed, millimetres } from "../../app/words.ts";
import { largeFigure } from "../../figures/figureFrame.ts";
import { coherenceFigure, type SubjectSpectrum, spectrumFigure } from "../../figures/spectrumFigure.ts";
import { figuresTable, numberCell } from "./figuresTable.ts";
import { type RunPage, subjectWords } from "./RunPage.ts";

/** Spectrum of the error with the cycle's harmonics, and how much of the vehicle's motion goes with the arm's. */
export function spectrumSection(page: RunPage): HTMLElement {
  const { run, subject, tone } = page;
  const spectrum = run.spectrum?.subjects[subject];
  const title = `Spectrum of the ${subjectWords[subject]}'s error`;
  if (run.spectrum === null || spectrum === undefined) {
    return element("section", {}, [
      element("h2", { text: title }),
      element("p", { class: "quiet", text: "The cycles, or the hold, are too short or too gappy for a spectrum." }),
    ]);
  }
  const { window, coherence } = run.spectrum;
  const { segment, segments, overlap, bandwidth, factors, harmonics } = spectrum;
  return element("section", { class: "run-spectrum", "aria-label": title }, [
    largeFigure(
      {
        name: `${run.id} ${subject} spectrum`,
        how: "methods.html#spectrum",
        title,
        caption: `In the ${window === "cycles" ? "cycle window" : "hold window"}; Welch's method: ${segments} segments of ${fixed(segment, 1)} s, overlapping by ${fixed(100 * overlap, 0)} %, Hann taper, bandwidth ${fixed(bandwidth, 2)} Hz; bar: 95 % interval of one value (${fixed(factors[0], 2)} to ${fixed(factors[1], 2)} times).${harmonics.length > 0 ? " Dotted: harmonics of the cycle's rate." : ""}`,
      },
      (width) =>
        spectrumFigure(spectrum, {
          width,
          tone,
          label: `Density of the error of the ${subjectWords[subject]} over frequency, run ${run.id}, x, y and z`,
        }),
      { level: 2, wide: true },
    ),
    harmonics.length === 0
      ? null
      : figuresTable({
          name: `${run.id} ${subject} harmonics`,
          caption: "Amplitude at the harmonics of the cycle's rate, from the synchronous split",
          columns: ["harmonic", "frequency, Hz", ...axes.map((axis) => `${axis}, mm`)],
          fileColumns: ["harmonic", "frequency, Hz", ...axes.map((axis) => `${axis}, m`)],
          rows: harmonics.map(({ k, frequency, amplitude }) => [
            { text: `${k}×`, value: k },
            numberCell(frequency, (hertz) => fixed(hertz, 3)),
            ...axes.map((axis) => numberCell(amplitude[axis], (metres) => millimetres(metres, 2))),
          ]),
        }),
    harmonics.length === 0 ? null : element("p", { class: "quiet small", text: strongestText(harmonics) }),
    subject !== "vehicle" || coherence === null
      ? null
      : largeFigure(
          {
            name: `${run.id} coherence`,
            title: "Coherence of the vehicle's error with the arm's motion",
            caption: `How much of the vehicle's motion at a frequency goes with the arm's motion along ${coherence.arm_axis} (where it moves most), 0 to 1; ${coherence.segments} segments of ${fixed(coherence.segment, 1)} s. Dashed: what chance alone exceeds in ${fixed(100 * (1 - coherence.level), 0)} of 100 values (${fixed(coherence.significance, 2)}). Going together is no cause: air that beats at the cycle's rate does too.`,
          },
          (width) =>
            coherenceFigure(coherence, {
              width,
              tone,
              label: `Coherence of the vehicle's error with the arm's motion over frequency, run ${run.id}, x, y and z`,
            }),
          { level: 3, wide: true },
        ),
  ]);
}

/** "Strongest: x 1× (24.22 mm), y 1× (2.57 mm), z 2× (6.03 mm)." */
function strongestText(harmonics: SubjectSpectrum["harmonics"]): string {
  const stated = axes.flatMap((axis) => {
    const known = harmonics.flatMap(({ k, amplitude }) =>
      amplitude[axis] === null ? [] : [{ k, size: amplitude[axis] }],
    );
    if (known.length === 0) return [];
    const { k, size } = known.reduce((most, one) => (one.size > most.size ? one : most));
    return [`${axis} ${k}× (${millimetres(size, 2)} mm)`];
  });
  return `Strongest: ${stated.join(", ")}.`;
}
