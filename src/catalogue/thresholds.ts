/** How thresholds are shown: the unit a person reads, and how many of it the SI unit is. */
const shown = {
  share: { unit: "%", factor: 100 },
  length: { unit: "mm", factor: 1000 },
  speed: { unit: "m/s", factor: 1 },
  time: { unit: "s", factor: 1 },
  angle: { unit: "deg", factor: 180 / Math.PI },
  voltage: { unit: "V", factor: 1 },
  mass: { unit: "g", factor: 1000 },
  count: { unit: "", factor: 1 },
} as const;

/**
 * The thresholds that a manifest may set, by their names in `settings.thresholds`: those that hang on a lab's arena, vehicle, arm or
 * scales. The others are properties of the methods, and setting them would be choosing the answer.
 */
export const labThresholds = {
  valid_fraction: { kind: "share", what: "share of the scored window with valid poses that a run needs to be used" },
  static_spread: { kind: "length", what: "how far a static capture may wander (sd) and still be one" },
  jump_speed: { kind: "speed", what: "speed that no pose of this vehicle can have, so that it jumped" },
  implausible_offset: { kind: "length", what: "mean distance from the setpoint from which frames are suspected" },
  implausible_arm_offset: { kind: "length", what: "the same for the tool from the arm's command" },
  gross_offset: { kind: "length", what: "mean distance from the setpoint from which a run is not used" },
  headings_apart: { kind: "angle", what: "headings of runs further apart are judged forward, left and up" },
  hold_settle: { kind: "time", what: "time after a change of the command that a hold window leaves out" },
  delay_to: { kind: "time", what: "longest response delay that is looked for" },
  sag_cell_voltage: { kind: "voltage", what: "voltage per cell under which a battery sags" },
  sag_share: { kind: "share", what: "share of the voltage lost in the window from which a battery sags" },
  saturated_output: { kind: "share", what: "motor output from which a motor is at its limit" },
  audit_mass: { kind: "mass", what: "how far weighed and declared mass may lie apart" },
  plan_flights_per_pack: { kind: "count", what: "flights that are planned on one charge of a pack" },
} as const satisfies Readonly<Record<string, { readonly kind: keyof typeof shown; readonly what: string }>>;

export type LabThreshold = keyof typeof labThresholds;
export const labThresholdNames = Object.keys(labThresholds) as readonly LabThreshold[];

/** @example thresholdText("valid_fraction", 0.8) // => "80 %" */
export function thresholdText(name: LabThreshold, value: number): string {
  const { unit, factor } = shown[labThresholds[name].kind];
  return `${Number((value * factor).toPrecision(6))} ${unit}`.trimEnd();
}
