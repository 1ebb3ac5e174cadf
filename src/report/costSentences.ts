import { type Verdict, verdicts } from "../catalogue/verdicts.ts";
import type { Costs } from "../contract/costs.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { percentRange } from "../words/amounts.ts";
import { familyCells } from "./runGroups.ts";
import { shortName } from "./text/nameText.ts";
import { fixed } from "./text/numbers.ts";

/**
 * What the counterweights cost, in one or two sentences to stand beside the verdicts: only what was measured (power, and minutes
 * from it), and the margin from the declared thrust. What is computed by law alone must not borrow a verdict's rigour.
 *
 * @returns "" where nothing of it is known
 */
export function costSentence({ costs, settings }: CampaignEvaluation): string {
  const own = costs?.configurations[settings.candidate];
  const other = costs?.configurations[settings.baseline];
  if (own === undefined || other === undefined) return "";
  const parts: string[] = [];
  const { power_ratio: ratio, endurance: minutes } = own;
  if (ratio?.source === "measured" && ratio.ci95 !== null) {
    const [low, high] = ratio.ci95.map((end) => end - 1) as [number, number];
    const less = ratio.value < 1;
    const range = percentRange(less ? [-high, -low] : [low, high], 1);
    // a sensor's scale cancels in the ratio, and not in minutes
    const sound = !costs!.findings.some(({ code }) => code === "power-implausible");
    const time =
      sound && minutes?.source === "measured" && other.endurance?.source === "measured"
        ? `: ${minutesText(minutes.value)} min in hover instead of ${minutesText(other.endurance.value)}`
        : "";
    parts.push(
      `hover takes ${fixed(100 * Math.abs(ratio.value - 1), 1)} % ${less ? "less" : "more"} power (${range}, measured)${time}`,
    );
  }
  const [margin, without] = [own.thrust_to_weight, other.thrust_to_weight];
  if (margin !== null && without !== null)
    parts.push(
      `thrust to weight is ${fixed(margin.value, 2)} instead of ${fixed(without.value, 2)} (declared thrust)${marginRemark(costs!, settings.candidate)}`,
    );
  return parts.length === 0 ? "" : `With the counterweights ${parts.join("; ")}.`;
}

/** What the findings say of the candidate's margin, in few words. */
function marginRemark({ findings, configurations }: Costs, candidate: string): string {
  const { thrust_to_weight: full, thrust_to_weight_end: end } = configurations[candidate]!;
  const codes = findings.flatMap(({ code, configuration }) => (configuration === candidate ? [code] : []));
  const ended = end === null ? "" : " at the end of the battery";
  if (codes.includes("thrust-below-weight")) return full!.value < 1 ? ": it does not fly" : `: it sinks${ended}`;
  if (codes.includes("thrust-below-limit")) return `, below the declared limit${ended}`;
  if (!findings.some(({ code }) => code === "thrust-below-two")) return "";
  if (full!.value < 2) return ", below the 2 of common practice";
  return end !== null && end.value < 2 ? `, below the 2 of common practice${ended}` : "";
}

const minutesText = (seconds: number): string => fixed(seconds / 60, 1);

/** One way of building the vehicle, with what it buys and what it costs. */
export interface CostOption {
  readonly configuration: string;
  /** apparent moving mass along a horizontal axis; in kg, or as a share of the whole */
  readonly left: {
    readonly place: string;
    readonly value: number;
    readonly ci95: [number, number] | null;
    readonly unit: "kg" | "1";
  }[];
  /** verdicts of the family, of the candidate alone: how many of each */
  readonly verdicts: Readonly<Partial<Record<Verdict, number>>> | null;
}

/** The options beside each other; no single score is made of them. */
export function costOptions(evaluation: CampaignEvaluation): CostOption[] {
  const { costs, settings, reasons } = evaluation;
  const family = familyCells(evaluation);
  return Object.keys(costs?.configurations ?? {}).map((configuration) => ({
    configuration,
    left: reasons.moving.flatMap(({ trajectory, axis, harmonic, unit, configurations }) => {
      const found = configurations[configuration];
      if (found === undefined || harmonic !== 1) return [];
      return [{ place: `${shortName(trajectory)}, ${axis}`, value: found.mean, ci95: found.ci95, unit }];
    }),
    verdicts:
      configuration !== settings.candidate || family.length === 0
        ? null
        : Object.fromEntries(
            verdicts
              .map((verdict) => [verdict, family.filter((cell) => cell.verdict === verdict).length] as const)
              .filter(([, count]) => count > 0),
          ),
  }));
}

/** "3 steadier, 2 within the noise" */
export function verdictCounts(counts: CostOption["verdicts"]): string {
  return counts === null
    ? ""
    : Object.entries(counts)
        .map(([verdict, count]) => `${count} ${verdict}`)
        .join(", ");
}
