import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { SynchronousEffect } from "../../contract/reasons.ts";
import { axes } from "../../foundation/tracks.ts";
import { ratioTexts } from "../../words/amounts.ts";
import { axisAt } from "../../words/places.ts";
import { plainText, type TextFrame, textTable, wrapText } from "../text/layout.ts";
import { decimalsFor, fixed, noValue, probabilityText } from "../text/numbers.ts";

/** below this share of the largest amplitude of its subject a harmonic is not worth a line */
const worthALine = 0.1;

/**
 * What the counterweights do to the part of the error that is in step with the arm: per trajectory, subject and axis the
 * harmonic that stands out in the baseline, with its displacement ratio.
 */
export function synchronousLines(evaluation: CampaignEvaluation, { width }: TextFrame): string[] {
  const judged = evaluation.reasons.synchronous.filter(({ subject }) => subject !== "arm");
  const shown = groupsOf(judged).flatMap((group) => {
    const least = worthALine * Math.max(...group.map(larger));
    return axes.flatMap((axis) => {
      const own = group.filter((one) => one.axis === axis);
      if (own.length === 0) return [];
      const first = own.reduce((most, one) => (larger(one) > larger(most) ? one : most));
      return larger(first) >= least ? [first] : [];
    });
  });
  if (shown.length === 0) return [];
  const decimals = decimalsFor(shown.map((one) => larger(one) * 1000));
  const rows = shown.map((one) => ({
    label: `${plainText(one.trajectory)} ${one.subject} ${axisAt(evaluation.settings.judged_in, one)} ${one.k}x`,
    cells: [
      fixed(one.baseline.amplitude * 1000, decimals),
      fixed(one.candidate.amplitude * 1000, decimals),
      ...ratioTexts(one),
      one.hotelling === null ? noValue : probabilityText(one.hotelling.p).replace(/^p /, ""),
      // a single way to deal the labels tells nothing
      one.permutation === null || one.permutation.arrangements < 2
        ? noValue
        : probabilityText(one.permutation.p).replace(/^p /, ""),
    ],
  }));
  const caption =
    "In step with the arm (displacement: mass and controller included): amplitude of the strongest harmonic of the cycle's rate per axis, mm, as a mean vector over runs; without, with, the displacement ratio (with / without; below 1: less) with its 95 % interval (no ratio where the runs set no upper limit to it), and p of the difference of the vectors (Hotelling; permutation). Harmonics below a tenth of the largest are left out. Exploratory: no verdicts.";
  return [...wrapText(caption, width), ...textTable(["without", "with", "ratio", "95 %", "p", "p perm."], rows, width)];
}

const larger = ({ baseline, candidate }: SynchronousEffect): number =>
  Math.max(baseline.amplitude, candidate.amplitude);

function groupsOf(effects: readonly SynchronousEffect[]): SynchronousEffect[][] {
  const groups = new Map<string, SynchronousEffect[]>();
  for (const one of effects) {
    const key = JSON.stringify([one.trajectory, one.subject]);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups.values()];
}
