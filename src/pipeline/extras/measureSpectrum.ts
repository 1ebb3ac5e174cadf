import type { AlignedRun } from "../../alignment/alignRun.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { SpectrumEvaluation } from "../../contract/runExtras.ts";
import type { Settings } from "../../contract/settings.ts";
import { type Axis, axes, subjects, type Window } from "../../foundation/tracks.ts";
import { errorSpectrum, nearestBin, spectrumBins } from "../../metrics/errorSpectrum.ts";
import { motionCoherence } from "../../metrics/motionCoherence.ts";
import { sampleStandardDeviation } from "../../numeric/descriptive.ts";
import { gatherBy } from "../../numeric/sortedColumns.ts";
import { lowerBound, sliceErrors, sliceMeasured } from "../windowSlices.ts";
import { intervalOf, rounded, widest } from "./common.ts";

/** Spectrum of each subject's error in the cycle window (else the hold), and the vehicle's coherence with its arm. */
export function measureSpectrum(
  run: AlignedRun,
  synchronous: RunEvaluation["synchronous"],
  settings: Settings,
): SpectrumEvaluation | null {
  const place = widest(run);
  if (place === null) return null;
  const found: SpectrumEvaluation["subjects"] = {};
  const cyclic = run.period !== null && place.name === "cycles";
  const segment = cyclic ? settings.spectrum_periods * run.period! : settings.spectrum_segment;
  const rate = cyclic ? 1 / run.period! : null;
  const base = { gapIntervals: settings.gap_intervals, segment, leastSegments: settings.spectrum_least_segments };
  for (const subject of subjects) {
    const track = run.subjects[subject];
    if (track === undefined) continue;
    const slice = sliceErrors(track, place.window);
    const options = { ...base, interval: intervalOf(run, subject), level: settings.extras_level };
    const spectrum = errorSpectrum(slice.t, [slice.x, slice.y, slice.z], options);
    if (spectrum === null) continue;
    const { frequency, densities } = spectrum;
    const marks = harmonicsOf(rate, frequency, settings);
    const bins = spectrumBins(
      densities,
      settings.spectrum_points,
      marks.map(({ bin }) => bin),
    );
    const at = (column: Float64Array): number[] => rounded(bins.map((bin) => column[bin]!));
    const amplitude = (axis: Axis, k: number): number | null =>
      synchronous?.[subject]?.[axis].harmonics.find((harmonic) => harmonic.k === k)?.amplitude ?? null;
    found[subject] = {
      taper: "hann",
      overlap: 0.5,
      segment: spectrum.segment,
      segments: spectrum.segments,
      bandwidth: spectrum.bandwidth,
      degrees_of_freedom: spectrum.degreesOfFreedom,
      factors: [...spectrum.factors],
      frequency: at(frequency),
      x: at(densities[0]!),
      y: at(densities[1]!),
      z: at(densities[2]!),
      harmonics: marks.map(({ k, frequency: own }) => ({
        k,
        frequency: own,
        amplitude: { x: amplitude("x", k), y: amplitude("y", k), z: amplitude("z", k) },
      })),
    };
  }
  if (Object.keys(found).length === 0) return null;
  return {
    window: place.name,
    subjects: found,
    coherence: rate === null ? null : coherenceOf(run, place.window, rate, segment, settings),
  };
}

/** The harmonics that lie within a spectrum, and the bins nearest to them. */
function harmonicsOf(
  rate: number | null,
  frequency: Float64Array,
  settings: Settings,
): { k: number; frequency: number; bin: number }[] {
  if (rate === null) return [];
  return Array.from({ length: settings.harmonics }, (_, h) => h + 1).flatMap((k) => {
    const bin = nearestBin(frequency, k * rate);
    return bin === null || bin === 0 ? [] : [{ k, frequency: k * rate, bin }];
  });
}

/** Coherence of the vehicle's error with the arm's motion, at the instants of the arm, which are among the vehicle's. */
function coherenceOf(
  run: AlignedRun,
  window: Window,
  rate: number,
  segment: number,
  settings: Settings,
): SpectrumEvaluation["coherence"] {
  const { arm, vehicle } = run.subjects;
  if (arm === undefined || vehicle === undefined) return null;
  const motion = sliceMeasured(arm, window);
  const error = sliceErrors(vehicle, window);
  const [fromError, fromMotion] = commonRows(error.t, motion.t);
  if (fromError.length < 32) return null;
  const keptError = gatherBy(fromError, fromError.length);
  const keptMotion = gatherBy(fromMotion, fromMotion.length);
  const travel = axes.map((axis) => sampleStandardDeviation(motion[axis]));
  const armAxis = axes[travel.indexOf(Math.max(...travel))]!;
  const found = motionCoherence(
    keptError(error.t),
    axes.map((axis) => keptError(error[axis])),
    keptMotion(motion[armAxis]),
    {
      gapIntervals: settings.gap_intervals,
      segment,
      leastSegments: settings.spectrum_least_segments,
      interval: run.intervals.vehicle!,
      level: settings.extras_level,
    },
  );
  if (found === null) return null;
  const { frequency, coherence } = found;
  const marks = harmonicsOf(rate, frequency, settings);
  const top = Math.min(lowerBound(frequency, settings.coherence_harmonics * rate), frequency.length);
  const bins = spectrumBins(
    coherence.map((column) => column.subarray(0, top)),
    settings.coherence_points,
    marks.map(({ bin }) => bin),
  );
  const at = (column: Float64Array): number[] => rounded(bins.map((bin) => column[bin]!));
  return {
    arm_axis: armAxis,
    segments: found.segments,
    segment: found.segment,
    significance: found.significance,
    level: settings.extras_level,
    frequency: at(frequency),
    x: at(coherence[0]!),
    y: at(coherence[1]!),
    z: at(coherence[2]!),
    harmonics: marks.map(({ k, frequency: own, bin }) => ({
      k,
      frequency: own,
      x: coherence[0]![bin]!,
      y: coherence[1]![bin]!,
      z: coherence[2]![bin]!,
    })),
  };
}

/** Rows of two ascending columns that hold the same instant. */
function commonRows(a: Float64Array, b: Float64Array): [Uint32Array, Uint32Array] {
  const first: number[] = [];
  const second: number[] = [];
  for (let i = 0, j = 0; i < a.length && j < b.length; ) {
    if (a[i]! < b[j]!) i++;
    else if (a[i]! > b[j]!) j++;
    else {
      first.push(i++);
      second.push(j++);
    }
  }
  return [Uint32Array.from(first), Uint32Array.from(second)];
}
