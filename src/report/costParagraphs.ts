import type { Costs } from "../contract/costs.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { joinWords } from "../words/amounts.ts";
import { costCautions, limitWords } from "../words/costWords.ts";
import { quotedConfiguration } from "./runGroups.ts";
import { shortName } from "./text/nameText.ts";
import { fixed } from "./text/numbers.ts";

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
          `the grams of ${candidate} as battery instead: ${fixed(100 * Math.abs(found.as_battery - 1), 0)} % ${found.as_battery < 1 ? "shorter" : "longer"} in hover (by law)`,
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
