import type { BenchCell, BenchEvaluation } from "../contract/benchEvaluation.ts";

const percent = (share: number): string => `${Math.round(100 * share)} %`;

/** What a channel is called in a sentence. */
export const channelWords: Readonly<Record<BenchCell["channel"], string>> = {
  fx: "force along x",
  fy: "force along y",
  fz: "force along z",
  mx: "moment about x",
  my: "moment about y",
  mz: "moment about z",
};

/** A reduction in words: above 1 the weights do more than take it away. */
export function reductionWords(reduction: number): string {
  if (reduction > 1) return `over-balanced by ${percent(reduction - 1)}`;
  return reduction >= 0 || percent(-reduction) === "0 %"
    ? `${percent(Math.max(0, reduction))} taken away`
    : `${percent(-reduction)} added`;
}

/**
 * The answer of a bench in a sentence or two: what the counterweights take from the shaking forces along each axis, over all
 * speeds with a verdict, and how many cells say nothing.
 */
export function benchSentence(
  { cells, runs, checks }: Pick<BenchEvaluation, "cells" | "runs" | "checks">,
  labels: { readonly candidate: string },
): string {
  const family = cells.filter(({ verdict }) => verdict !== null);
  const stop = checks.find(({ severity }) => severity === "unusable");
  if (stop !== undefined) return `This bench cannot be used: ${stop.message}.`;
  if (family.length === 0) return "No trajectory was run with both configurations: nothing to compare.";
  const parts = (["fx", "fy", "fz"] as const).flatMap((channel) => {
    const own = family.filter((cell) => cell.channel === channel && cell.reduction !== null);
    const clear = own.filter(({ verdict }) => verdict === "reduced" || verdict === "increased");
    if (own.length === 0) return [];
    if (clear.length === 0) return [`of the ${channelWords[channel]} nothing can be said (${own[0]!.verdict})`];
    const shares = clear.map(({ reduction }) => reduction!);
    const [low, high] = [Math.min(...shares), Math.max(...shares)];
    const words =
      percent(low) === percent(high) ? reductionWords(low) : `${percent(low)} to ${percent(high)} taken away`;
    return [`of the ${channelWords[channel]} ${words}, at ${clear.length} of ${own.length} speeds and trajectories`];
  });
  const lost = runs.filter(({ used }) => !used).length;
  const away = lost === 0 ? "" : ` ${lost} of ${runs.length} runs are not used.`;
  return `On the stand, with ${labels.candidate}: ${parts.join("; ")}. A moment's reduction depends on speed, as gravity and inertia are reduced alike only by chance.${away}`;
}
