import type { Campaign } from "../../contract/campaign.ts";
import type { CostConfiguration, Costs } from "../../contract/costs.ts";
import type { Settings } from "../../contract/settings.ts";
import { joinWords } from "../../words/amounts.ts";
import { labelOf } from "../audit/auditFinding.ts";
import type { CostRun } from "./configurationCosts.ts";

type Finding = Costs["findings"][number];
type Found = Costs["configurations"];

/** What the findings look at. */
export interface Costed {
  readonly campaign: Campaign;
  readonly runs: readonly CostRun[];
  readonly configurations: Found;
  readonly breakEven: Costs["break_even"];
  readonly settings: Settings;
}

/** What speaks against a figure of the costs, and which margins are not kept. Doubts first. */
export function costFindings(costed: Costed): Finding[] {
  const each = Object.entries(costed.configurations).flatMap(([name, found]) => [
    ...thrustFindings(costed, name, found),
    ...discFindings(costed, name, found),
    ...authorityFindings(costed, name, found),
  ]);
  const all = [
    ...each,
    ...belowTwo(costed),
    ...voltageFindings(costed),
    ...currentFindings(costed),
    ...limitFindings(costed),
  ];
  return [...all.filter(({ severity }) => severity === "doubt"), ...all.filter(({ severity }) => severity === "note")];
}

function thrustFindings({ campaign }: Costed, name: string, found: CostConfiguration): Finding[] {
  const { thrust_to_weight: full, thrust_to_weight_end: end } = found;
  const least = end ?? full;
  if (full === null || least === null) return [];
  const label = labelOf(campaign, name);
  const when = end === null ? "on a full battery" : "at the end of the battery";
  if (full.value < 1)
    return [
      {
        code: "thrust-below-weight",
        severity: "doubt",
        configuration: name,
        message: `${label}: the most thrust declared is ${full.value.toFixed(2)} of the weight: such a vehicle does not fly, so there is no endurance`,
        hint: "check `max_thrust` (of all rotors together, in newtons: 1 kgf is 9.81 N) and the masses",
      },
    ];
  const limit = campaign.limits?.thrustToWeight ?? null;
  if (limit !== null && least.value < limit)
    return [
      {
        code: "thrust-below-limit",
        severity: "doubt",
        configuration: name,
        message: `${label}: thrust to weight is ${least.value.toFixed(2)} ${when}, less than the ${limit} of \`limits\``,
        hint: "lighten it, land earlier, or fly larger rotors; do not count on thrust that is not there",
      },
    ];
  if (end === null || end.value >= 1) return [];
  return [
    {
      code: "thrust-below-weight",
      severity: "doubt",
      configuration: name,
      message: `${label}: at the voltage of \`end\` the thrust is ${end.value.toFixed(2)} of the weight: it would sink before the flight is ended`,
      hint: "end the flight at a higher voltage, or check the two voltages of `battery`",
    },
  ];
}

/** One note for all that fall below what is common practice, where no limit is declared. */
function belowTwo({ campaign, configurations, settings }: Costed): Finding[] {
  if (campaign.limits?.thrustToWeight != null) return [];
  const usual = settings.cost_thrust_to_weight;
  const low = Object.entries(configurations).flatMap(
    ([name, { thrust_to_weight: full, thrust_to_weight_end: end }]) => {
      const least = end ?? full;
      if (full === null || least === null || full.value < 1 || least.value >= usual) return [];
      const ended = end === null ? "" : `, ${end.value.toFixed(2)} at the end of the battery`;
      return [`${labelOf(campaign, name)} ${full.value.toFixed(2)}${ended}`];
    },
  );
  if (low.length === 0) return [];
  return [
    {
      code: "thrust-below-two",
      severity: "note",
      configuration: null,
      message: `thrust to weight below ${usual}, which is common practice (no source): ${joinWords(low)}`,
      hint: "less thrust is left to correct with, and less still as the battery empties: declare what you must keep as `limits: { thrust_to_weight: 2 }`, and fly lower, slower and shorter until it is",
    },
  ];
}

function discFindings({ campaign, settings }: Costed, name: string, found: CostConfiguration): Finding[] {
  const { disc_loading: loading, hover_power: power, hover_power_ideal: ideal } = found;
  const findings: Finding[] = [];
  const { cost_disc_loading_least: least, cost_disc_loading_most: most } = settings;
  if (loading !== null && (loading < least || loading > most))
    findings.push({
      code: "disc-loading",
      severity: "doubt",
      configuration: name,
      message: `${labelOf(campaign, name)}: the weight on the rotors' discs is ${loading.toPrecision(2)} N/m^2; multirotors have ${least} to ${most}`,
      hint: "check `rotor_diameter` (13 inches are 330 mm; a radius is no diameter) and `rotors`: the power by law rests on them",
    });
  if (power?.source === "measured" && ideal !== null) {
    const efficiency = ideal / power.value;
    if (efficiency > settings.cost_efficiency_absurd_high || efficiency < settings.cost_efficiency_absurd_low)
      findings.push({
        code: "power-implausible",
        severity: "doubt",
        configuration: name,
        message: `${labelOf(campaign, name)}: ${power.value.toFixed(0)} W measured in hover, where ideal rotors of this area need ${ideal.toFixed(0)} W: ${efficiency > 1 ? "no rotor needs less than that" : `an efficiency of ${(100 * efficiency).toFixed(0)} %`}`,
        hint: "check the scale of the current sensor (mA for A, one of two packs) and `rotor_diameter`; a scale cancels in the ratio of two configurations, not in watts and minutes",
      });
  }
  return findings;
}

function authorityFindings({ campaign }: Costed, name: string, found: CostConfiguration): Finding[] {
  const findings: Finding[] = [];
  const limit = campaign.limits?.angularAcceleration ?? null;
  const { angular_acceleration: authority, rotor_loads: loads, thrust_to_weight: full } = found;
  const least = authority && Math.min(authority.roll, authority.pitch);
  const flies = full === null || full.value >= 1;
  if (flies && limit !== null && least !== null && least < limit)
    findings.push({
      code: "authority-below-limit",
      severity: "doubt",
      configuration: name,
      message: `${labelOf(campaign, name)}: roll and pitch reach ${least.toFixed(1)} rad/s^2 from hover, less than the ${limit} of \`limits\``,
      hint: "bring the weights nearer to the centre of mass, or lighten them",
    });
  if (loads !== null && loads.lowest <= 0)
    findings.push({
      code: "rotor-unloaded",
      severity: "doubt",
      configuration: name,
      message: `${labelOf(campaign, name)}: with the centre of mass ${(1000 * Math.hypot(...loads.offset)).toFixed(0)} mm beside the rotors' centre a rotor would have to pull down in hover`,
      hint: "check `com`, `rotor_centre` and `rotor_radius`; such a vehicle cannot be trimmed",
    });
  return findings;
}

/** The charged pack at rest is the highest voltage there is, the end of the flight the lowest in hover. */
function voltageFindings({ campaign, runs, settings }: Costed): Finding[] {
  const { full = null, end = null } = campaign.battery ?? {};
  const used = runs.filter(({ used: is }) => is);
  const findings: Finding[] = [];
  const highest = Math.max(...used.map(({ power }) => power?.highest ?? Number.NEGATIVE_INFINITY));
  if (full !== null && highest > full * (1 + settings.cost_voltage_above_full))
    findings.push({
      code: "voltage-under-load",
      severity: "doubt",
      configuration: null,
      message: `a log shows ${highest.toFixed(2)} V, more than the ${full.toFixed(2)} V declared for the charged pack: \`full\` looks like a voltage under load`,
      hint: "read `full` with nothing drawn, after charging; the thrust at the end of the battery rests on it",
    });
  const under = used.filter(({ power }) => end !== null && power?.voltage != null && power.voltage < end);
  if (end !== null && under.length > 0)
    findings.push({
      code: "voltage-under-load",
      severity: "doubt",
      configuration: null,
      message: `${under.length} of ${used.length} used runs hover at less than the ${end.toFixed(2)} V declared as the end of the flight (${under[0]!.id}: ${under[0]!.power!.voltage!.toFixed(2)} V): \`end\` looks like a voltage at rest`,
      hint: "give as `end` the voltage shown in flight, under load, at which you land",
    });
  return findings;
}

/** Runs whose battery was logged and gives no power, by why. */
function currentFindings({ runs }: Costed): Finding[] {
  const used = runs.filter(({ used: is, power }) => is && power !== undefined);
  const lost = used.filter(({ power }) => power!.mean === null);
  if (lost.length === 0) return [];
  const why = [...new Set(lost.map(({ power }) => power!.why!))];
  return [
    {
      code: "power-not-measured",
      severity: "note",
      configuration: null,
      message: `${lost.length} of ${used.length} used runs with a logged battery give no power in hover: ${why[0]!}${why.length > 1 ? `, and ${why.length - 1} other reasons` : ""}`,
      hint: "log a current beside the voltage; where it is there, look at its column, sign and marks for what was not measured",
    },
  ];
}

const needed = {
  thrust_to_weight: "`vehicle: max_thrust`",
  mission_time: "`battery: energy`, and a power: a logged current, or `rotors` and `rotor_diameter`",
  angular_acceleration:
    "`vehicle: inertia`, `rotor_radius`, `rotors` and `max_thrust`, counterweights with their places, and a baseline that keeps it",
} as const;

/** Limits that nothing can be held against. */
function limitFindings({ campaign, breakEven }: Costed): Finding[] {
  const { thrustToWeight = null, missionTime = null, angularAcceleration = null } = campaign.limits ?? {};
  const asked = {
    thrust_to_weight: thrustToWeight,
    mission_time: missionTime,
    angular_acceleration: angularAcceleration,
  };
  return (Object.keys(asked) as (keyof typeof asked)[])
    .filter((limit) => asked[limit] !== null)
    .filter((limit) => (breakEven?.bounds.find((bound) => bound.limit === limit)?.mass ?? null) === null)
    .map((limit) => ({
      code: "limit-without-data",
      severity: "note" as const,
      configuration: null,
      message: `the limit \`${limit}\` is declared, and cannot be held against a mass`,
      hint: `it takes ${needed[limit]}`,
    }));
}
