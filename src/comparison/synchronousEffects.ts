import type { Campaign } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { SynchronousEffect } from "../contract/reasons.ts";
import type { Settings } from "../contract/settings.ts";
import { type Axis, axes, type Subject, subjects } from "../foundation/tracks.ts";
import { PositionBook } from "./permutationSums.ts";
import { amplitudeRatio } from "./synchronous/amplitudeRatio.ts";
import { hotellingTwoSample } from "./synchronous/hotelling.ts";
import { comparedVectors, meanVectors } from "./synchronous/meanVectors.ts";
import { isBalanced, unequalTwoSample } from "./synchronous/unequalTwoSample.ts";
import { vectorPermutation } from "./synchronous/vectorPermutation.ts";

/**
 * The synchronous error compared as what it is, a vector: per trajectory, subject, axis and harmonic the mean over runs of
 * (cos, sin), baseline against candidate, with Hotelling's T^2, its permutation, and the displacement ratio, that of the lengths.
 *
 * A mean of vectors forgives what a mean of amplitudes does not: noise without a phase averages out. The run is the unit.
 * Exploratory: shown, without a verdict and without a correction for their number.
 *
 * @param runs  all runs of the evaluation; used ones of the pair enter
 * @returns in the campaign's order of trajectories, then subject, axis, harmonic; where both configurations have a run
 */
export function synchronousEffects(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  settings: Settings,
): SynchronousEffect[] {
  const book = new PositionBook();
  const effects: SynchronousEffect[] = [];
  for (const [trajectory, { shape }] of Object.entries(campaign.trajectories)) {
    if (shape === "hold") continue;
    const flown = runs.filter(
      (run) =>
        run.used &&
        run.trajectory === trajectory &&
        (run.configuration === campaign.baseline || run.configuration === campaign.candidate),
    );
    for (const subject of subjects) {
      for (const axis of axes) {
        for (let k = 1; k <= settings.harmonics; k++) {
          const effect = effectOf(campaign, flown, { trajectory, subject, axis, k }, settings, book);
          if (effect !== null) effects.push(effect);
        }
      }
    }
  }
  return effects;
}

interface HarmonicPlace {
  readonly trajectory: string;
  readonly subject: Subject;
  readonly axis: Axis;
  readonly k: number;
}

function effectOf(
  campaign: Campaign,
  flown: readonly RunEvaluation[],
  place: HarmonicPlace,
  settings: Settings,
  book: PositionBook,
): SynchronousEffect | null {
  const found = flown.flatMap((run) => {
    const harmonic = run.synchronous?.[place.subject]?.[place.axis].harmonics.find(({ k }) => k === place.k);
    return harmonic === undefined ? [] : [{ run, cos: harmonic.cos, sin: harmonic.sin }];
  });
  const names = new Map<string | null, number>();
  for (const { run } of found) if (!names.has(run.block)) names.set(run.block, names.size);
  const compared = comparedVectors({
    columns: [Float64Array.from(found, ({ cos }) => cos), Float64Array.from(found, ({ sin }) => sin)],
    candidate: Uint8Array.from(found, ({ run }) => (run.configuration === campaign.candidate ? 1 : 0)),
    block: Int32Array.from(found, ({ run }) => names.get(run.block)!),
    blocks: names.size,
  });
  const means = meanVectors(compared);
  if (means === null) return null;
  const { difference, test: pooled } = hotellingTwoSample(compared);
  const test = isBalanced(compared) ? pooled : unequalTwoSample(compared, difference);
  const permutation =
    pooled === null
      ? null
      : vectorPermutation(compared, {
          exactUpTo: settings.exact_arrangements,
          drawn: settings.drawn_arrangements,
          seed: settings.permutation_seed,
          book,
        });
  const ratio = amplitudeRatio(means, settings.interval_level);
  const side = (configuration: string, [cos, sin]: readonly [number, number]): SynchronousEffect["baseline"] => ({
    runs: found.filter(({ run }) => run.configuration === configuration).map(({ run }) => run.id),
    cos,
    sin,
    amplitude: Math.hypot(cos, sin),
    phase: Math.atan2(-sin, cos),
  });
  const [cos, sin] = [difference[0]!, difference[1]!];
  return {
    ...place,
    baseline: side(campaign.baseline, means.baseline),
    candidate: side(campaign.candidate, means.candidate),
    method: compared.method,
    difference: {
      cos,
      sin,
      amplitude: Math.hypot(cos, sin),
      cov: test === null ? null : [test.covariance[0]!, test.covariance[1]!, test.covariance[3]!],
    },
    hotelling: test === null ? null : { t2: test.t2, f: test.f, df1: test.df1, df2: test.df2, p: test.p },
    permutation:
      permutation === null
        ? null
        : {
            p: permutation.p,
            p_least: permutation.leastP,
            arrangements: permutation.arrangements,
            exact: permutation.exact,
          },
    ratio: ratio?.ratio ?? null,
    ratio_ci95: ratio?.interval == null ? null : [...ratio.interval],
  };
}
