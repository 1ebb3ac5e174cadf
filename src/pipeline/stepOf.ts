import type { Campaign } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import { mean } from "../numeric/descriptive.ts";
import { leastSquares } from "../numeric/leastSquares.ts";
import { studentTCdf } from "../numeric/studentT.ts";
import type { MeasuredRun } from "./measureOne.ts";

export interface Figure {
  readonly run: MeasuredRun;
  readonly value: number;
}

/** A step from baseline to candidate, in the figure's unit. */
export interface StepFound {
  readonly size: number;
  readonly standardError: number;
  readonly p: number;
}

/**
 * How far a figure of the runs steps with the configuration: fitted within blocks, by a steady drift over the day too where it `drifts`.
 *
 * @returns null where no block holds both configurations, or too few runs are left to see the scatter
 */
export function stepOf(campaign: Campaign, figures: readonly Figure[], drifts: boolean): StepFound | null {
  const blockOf = ({ run }: Figure): string => run.declaration.block ?? "";
  const isCandidate = ({ run }: Figure): boolean => run.declaration.configuration === campaign.candidate;
  const blocks = [...new Set(figures.map(blockOf))].filter(
    (block) => new Set(figures.filter((one) => blockOf(one) === block).map(isCandidate)).size === 2,
  );
  const own = figures.filter((one) => blocks.includes(blockOf(one)));
  const started = drifts ? startsOf(own, blockOf) : null;
  const design = [
    ...blocks.map((block) => own.map((one) => Number(blockOf(one) === block))),
    own.map((one) => Number(isCandidate(one))),
    ...(started === null ? [] : [started]),
  ].map((column) => Float64Array.from(column));
  const freedom = own.length - design.length;
  if (blocks.length === 0 || freedom < 2) return null;
  try {
    const fit = leastSquares(
      design,
      Float64Array.from(own, ({ value }) => value),
    );
    const [size, standardError] = [fit.coefficients[blocks.length]!, fit.standardErrors[blocks.length]!];
    return { size, standardError, p: 2 * studentTCdf(-Math.abs(size) / standardError, freedom) };
  } catch {
    // configuration and time of day cannot be separated
    return null;
  }
}

/** Hours after the middle of the block; null where no two runs of a block differ, or some run has no time. */
function startsOf(figures: readonly Figure[], blockOf: (one: Figure) => string): number[] | null {
  if (figures.some(({ run }) => run.epoch === null)) return null;
  const hours = figures.map(({ run }) => Number(run.epoch! - figures[0]!.run.epoch!) / 3.6e12);
  const middles = figures.map((one) =>
    mean(Float64Array.from(hours.filter((_, i) => blockOf(figures[i]!) === blockOf(one)))),
  );
  const after = hours.map((hour, i) => hour - middles[i]!);
  return after.some((hour) => Math.abs(hour) > 1e-6) ? after : null;
}

export const isClear = (step: StepFound | null, least: number, settings: Settings): step is StepFound =>
  step !== null && Math.abs(step.size) > least && step.p < settings.delay_apart_p;

/** Candidate and baseline, as a person calls them. */
export function labels({ baseline, candidate, configurations }: Campaign): readonly [string, string] {
  return [configurations[candidate]!.label, configurations[baseline]!.label];
}
