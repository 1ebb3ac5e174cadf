import type { CostConfiguration, CostFigure, Costs } from "../contract/costs.ts";

/** The price list as terminal and page show it: rows of figures, each with its unit and where it comes from. */

export interface CostRow {
  readonly what: string;
  /** as a person reads it; "" for a ratio */
  readonly unit: string;
  /** shown number per SI */
  readonly factor: number;
  readonly decimals: number;
  readonly of: (found: CostConfiguration) => CostFigure | null;
}

/** A number that is computed, without a range of its own. */
const computed = (value: number | null | undefined): CostFigure | null =>
  value == null ? null : { value, ci95: null, range: null, source: "law" };

const rows: readonly CostRow[] = [
  { what: "take-off mass", unit: "kg", factor: 1, decimals: 3, of: (found) => found.takeoff_mass },
  { what: "thrust to weight", unit: "", factor: 1, decimals: 2, of: (found) => found.thrust_to_weight },
  {
    what: "thrust to weight, end of the battery",
    unit: "",
    factor: 1,
    decimals: 2,
    of: (found) => found.thrust_to_weight_end,
  },
  { what: "hover power", unit: "W", factor: 1, decimals: 0, of: (found) => found.hover_power },
  { what: "hover power over the baseline's", unit: "", factor: 1, decimals: 3, of: (found) => found.power_ratio },
  {
    what: "hover power of ideal rotors",
    unit: "W",
    factor: 1,
    decimals: 0,
    of: (found) => computed(found.hover_power_ideal),
  },
  {
    what: "motor output in hover",
    unit: "% of full",
    factor: 100,
    decimals: 1,
    of: (found) => found.hover_output,
  },
  {
    what: "motor output in hover, highest motor",
    unit: "% of full",
    factor: 100,
    decimals: 1,
    of: (found) => found.hover_output_highest,
  },
  { what: "effort of the arm, rms", unit: "as logged", factor: 1, decimals: 3, of: (found) => found.arm_effort },
  {
    what: "effort of the arm over the baseline's",
    unit: "",
    factor: 1,
    decimals: 3,
    of: (found) => found.arm_effort_ratio,
  },
  { what: "endurance in hover", unit: "min", factor: 1 / 60, decimals: 1, of: (found) => found.endurance },
  { what: "endurance over the baseline's", unit: "", factor: 1, decimals: 3, of: (found) => found.endurance_ratio },
  { what: "disc loading", unit: "N/m²", factor: 1, decimals: 0, of: (found) => computed(found.disc_loading) },
  {
    what: "rotor that carries most",
    unit: "N",
    factor: 1,
    decimals: 2,
    of: (found) => computed(found.rotor_loads?.highest),
  },
  {
    what: "rotor that carries least",
    unit: "N",
    factor: 1,
    decimals: 2,
    of: (found) => computed(found.rotor_loads?.lowest),
  },
  {
    what: "most angular acceleration, roll",
    unit: "rad/s²",
    factor: 1,
    decimals: 1,
    of: (found) => computed(found.angular_acceleration?.roll),
  },
  {
    what: "most angular acceleration, pitch",
    unit: "rad/s²",
    factor: 1,
    decimals: 1,
    of: (found) => computed(found.angular_acceleration?.pitch),
  },
  ...(["x", "y", "z"] as const).map(
    (axis): CostRow => ({
      what: `change of inertia about ${{ x: "roll", y: "pitch", z: "yaw" }[axis]}`,
      unit: "g m²",
      factor: 1000,
      decimals: 2,
      of: (found) => computed(found.inertia?.change[axis]),
    }),
  ),
];

/** The rows of which some configuration has a figure. */
export function costRows({ configurations }: Pick<Costs, "configurations">): CostRow[] {
  return rows.filter(({ of }) => Object.values(configurations).some((found) => of(found) !== null));
}

/** As `fixed` of either room writes it: a number with so many decimals. */
type Fixed = (value: number, decimals: number) => string;

/**
 * The interval or range of a figure in the unit shown; "" where it has none.
 *
 * @example "903 to 908"
 */
export function costRange({ ci95, range }: CostFigure, { factor, decimals }: CostRow, fixed: Fixed): string {
  const ends = ci95 ?? range;
  return ends === null ? "" : `${fixed(factor * ends[0], decimals)} to ${fixed(factor * ends[1], decimals)}`;
}

/** Where a figure comes from, and what stands beside it. */
export function costSource({ source, ci95, range }: CostFigure): string {
  const name = { measured: "measured", law: "by law", declared: "declared" }[source];
  return ci95 === null && range === null && source === "measured" ? `${name}, too few runs for an interval` : name;
}

/** What `limits` names, as a person reads it, with the factor and unit of what is asked for. */
export const limitWords = {
  thrust_to_weight: { what: "thrust to weight", unit: "", factor: 1, decimals: 2 },
  mission_time: { what: "mission time", unit: " min", factor: 1 / 60, decimals: 1 },
  angular_acceleration: { what: "angular acceleration", unit: " rad/s²", factor: 1, decimals: 1 },
} as const;

/** What to mind, beside the figures that it is about. */
export const costCautions = {
  all: "None of this is a verdict, and none of it says that a vehicle is safe to fly. Local aviation rules, site procedures and licensed practice prevail.",
  thrust:
    "Thrust that is declared is not thrust that was measured: propellers, temperature, height and a tired pack take from it. Less margin is less to correct with: first hover low with the arm parked, in a netted or tethered arena with nobody inside, the kill switch tested; at least 2 is common practice (no source).",
  minutes:
    "Minutes in hover are an average over a full pack, and the last of them have the least thrust: land with charge left, fly no pack below its limit, and leave none unattended on the charger.",
  moved:
    "A moved battery's plug or lead that comes loose is a lost vehicle: retain pack and plug mechanically, relieve the lead of strain, keep it clear of the propellers, and inspect leads that move with the arm for fatigue before each flight.",
  weights:
    "Counterweights mechanically retained (fastened twice, or with a lanyard) and clear of the propellers; weigh the vehicle and find its centre of mass again after each change.",
} as const;
