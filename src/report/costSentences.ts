import { type Verdict, verdicts } from "../contract/cell.ts";
import type { Costs } from "../contract/costs.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { joinWords, percentRange } from "../words/amounts.ts";
import { costCautions, limitWords } from "../words/costWords.ts";
import { familyCells, quotedConfiguration } from "./runGroups.ts";
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
    const time =
      minutes?.source === "measured" && other.endurance?.source === "measured"
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

/** Largest mass, what is missing, what was moved: in sentences. */
export function costParagraphs(
  evaluation: CampaignEvaluation,
): { readonly text: string; readonly items: readonly string[] }[] {
  const { costs, settings } = evaluation;
  if (costs === null) return [];
  return [
    ...limitParagraphs(costs, quotedConfiguration(evaluation, settings.candidate)),
    ...perGramParagraph(evaluation, costs),
    ...movedParagraphs(evaluation, costs),
    ...(costs.missing.length === 0
      ? []
      : [
          {
            text: "Left out, for want of what it takes:",
            items: costs.missing.map(({ what, needs }) => `${what}: ${needs}`),
          },
        ]),
    ...circleParagraph(costs),
    {
      text: `The law is computed with air of ${fixed(costs.air_density, 3)} kg/m³ (${costs.air_declared ? "declared" : "standard atmosphere at sea level; `air` declares another"}).`,
      items: [],
    },
  ];
}

function limitParagraphs(
  { break_even: found, findings }: Costs,
  candidate: string,
): { text: string; items: string[] }[] {
  const undecided = findings.some(({ code }) => code === "limit-without-data");
  if (found === null)
    return [
      {
        text: undecided
          ? "None of the declared limits can be held against a mass."
          : "No limits are declared, so there is no largest mass: `limits: { thrust_to_weight: 2 }` declares what the vehicle must keep.",
        items: [],
      },
    ];
  const room =
    found.added < 0
      ? `${grams(-found.added)} g less than the baseline weighs: no counterweight keeps them`
      : `${grams(found.added)} g more than the baseline`;
  const bounds = found.bounds.flatMap(({ limit, asked, mass, source }) => {
    const { what, unit, factor, decimals } = limitWords[limit];
    const by = { measured: "measured", law: "by law", declared: "from declared thrust" }[source];
    return mass === null
      ? []
      : [`${what} of ${fixed(factor * asked, decimals)}${unit}: up to ${fixed(mass, 2)} kg (${by})`];
  });
  const battery =
    found.as_battery === null
      ? []
      : [
          `the grams of ${candidate} as battery instead: ${fixed(100 * (found.as_battery - 1), 0)} % ${found.as_battery < 1 ? "(less)" : "longer"} in hover (by law)`,
        ];
  return [
    {
      text: `The largest take-off mass that keeps the declared limits is ${fixed(found.mass, 2)} kg, ${room}.`,
      items: [...bounds, ...battery],
    },
  ];
}

/** What the added grams took away: the line of the apparent moving mass over the added mass, through the settings flown. */
function perGramParagraph(
  { reasons, settings }: CampaignEvaluation,
  costs: Costs,
): { text: string; items: string[] }[] {
  const { baseline, candidate, sham } = settings;
  const base = costs.configurations[baseline]?.takeoff_mass?.value;
  if (base === undefined) return [];
  const items = reasons.moving.flatMap(({ trajectory, axis, harmonic, unit, configurations, contrasts }) => {
    if (harmonic !== 1 || unit !== "kg") return [];
    const points = Object.entries(configurations).flatMap(([name, { mean }]) => {
      const own = costs.configurations[name];
      const added = (own?.takeoff_mass?.value ?? Number.NaN) - base;
      const counts = name === baseline || (name !== sham && own?.moved.length === 0 && added > 0.01);
      return counts ? [{ added: name === baseline ? 0 : added, left: mean }] : [];
    });
    if (points.length < 2 || !points.some(({ added }) => added > 0)) return [];
    const slope = slopeOf(points);
    const ci95 = contrasts[candidate]?.difference.ci95 ?? null;
    const step = points.length === 2 ? Math.max(...points.map(({ added }) => added)) : null;
    const range =
      ci95 === null || step === null
        ? points.length > 2
          ? `, a line through ${points.length} settings`
          : ""
        : ` (${fixed((-100 * ci95[1]) / step, 0)} to ${fixed((-100 * ci95[0]) / step, 0)} g)`;
    return [`${shortName(trajectory)}, along ${axis}: ${fixed(-100 * slope, 0)} g${range}`];
  });
  return items.length === 0 ? [] : [{ text: "Of what moves, each 100 g that were added took away, as flown:", items }];
}

/** Least-squares slope. */
function slopeOf(points: readonly { readonly added: number; readonly left: number }[]): number {
  const meanOf = (of: (point: (typeof points)[number]) => number): number =>
    points.reduce((sum, point) => sum + of(point), 0) / points.length;
  const [x, y] = [meanOf(({ added }) => added), meanOf(({ left }) => left)];
  return meanOf((point) => (point.added - x) * (point.left - y)) / meanOf((point) => (point.added - x) ** 2);
}

function movedParagraphs(
  evaluation: CampaignEvaluation,
  { configurations }: Costs,
): { text: string; items: string[] }[] {
  return Object.entries(configurations).flatMap(([name, { moved }]) =>
    moved.map(({ what, mass, by, shift, lead_drop: drop, pack_spread: spread, pack_moment: moment }) => ({
      text: `${quotedConfiguration(evaluation, name)}: ${what} of ${grams(mass)} g, moved by ${fixed(1000 * by, 0)} mm, adds no mass. ${costCautions.moved}`,
      items: [
        `it moves the centre of mass of the whole by ${joinWords(shift.map((value, axis) => `${fixed(1000 * value, 1)} mm along ${"xyz"[axis]}`))}`,
        drop === null
          ? "the longer lead's voltage drop needs `battery: wire`, a logged current, and `function: battery`"
          : `its longer lead loses ${fixed(1000 * drop, 0)} mV in hover`,
        `packs of one kind differ by some ${fixed(1000 * spread, 1)} g (2 %, house value)${moment === null ? "" : `: that alone makes a moving moment of ${fixed(1000 * moment, 2)} g m at the widest travel`}`,
      ],
    })),
  );
}

/** What loads and authority rest on. */
function circleParagraph({ configurations }: Costs): { text: string; items: string[] }[] {
  const loads = Object.values(configurations).flatMap(({ rotor_loads: own }) => own ?? []);
  if (loads.length === 0) return [];
  const azimuth = loads.some((own) => own.azimuth === "worst")
    ? "of the worst azimuth, since `first_rotor` is not declared"
    : "of the declared azimuth";
  return [
    {
      text: `Loads of the rotors and angular acceleration are by statics, ${azimuth}, for evenly spaced rotors about \`rotor_centre\` (the body point unless declared) and the arm at its mean posture; what the moving arm exerts comes on top.`,
      items: [],
    },
  ];
}

const grams = (kilograms: number): string => fixed(1000 * kilograms, 0);
