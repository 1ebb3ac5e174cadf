import type { BatteryFacts } from "../../contract/costDeclaration.ts";
import type { Kilograms, Newtons, Seconds, Volts } from "../../foundation/units.ts";

/** The laws by which a hover costs what it costs, and what is left of the thrust. */

/** Area of the discs of all rotors, square metres; coaxial pairs share one. */
export function discArea(rotors: number, diameter: number, coaxial: boolean): number {
  return ((coaxial ? rotors / 2 : rotors) * Math.PI * diameter ** 2) / 4;
}

/**
 * Power that ideal rotors take in hover: the momentum of the air through an actuator disc.
 *
 *   P = W^1.5 / sqrt(2 rho A)
 *
 * Real rotors, motors and controllers take more: over an efficiency of all of them together, P falls by no law.
 *
 * @param weight   N
 * @param area     of all discs, m^2
 * @param density  of the air, kg/m^3
 * @returns watts
 * @source W. J. M. Rankine, Trans. Inst. Naval Arch. 6 (1865) 13-39; R. E. Froude, ibid. 30 (1889) 390-405
 * @example idealHoverPower(120, Math.PI * 0.6 ** 2, 1.225) // => 789.70
 */
export function idealHoverPower(weight: Newtons, area: number, density: number): number {
  return weight ** 1.5 / Math.sqrt(2 * density * area);
}

/**
 * Most thrust at a voltage: a table read along straight lines of log thrust over log voltage, and beyond its ends by the power
 * law from the nearer one; of one number, (V / V_full)^p of it.
 *
 * @param table     at least one row, highest voltage first
 * @param exponent  p
 */
export function thrustAt(
  table: readonly { readonly voltage: Volts; readonly thrust: Newtons }[],
  voltage: Volts,
  exponent: number,
): Newtons {
  const [first, last] = [table[0]!, table[table.length - 1]!];
  const k = table.findIndex((row) => row.voltage <= voltage);
  if (k <= 0) {
    const near = k === 0 ? first : last;
    return near.thrust * (voltage / near.voltage) ** exponent;
  }
  const [above, below] = [table[k - 1]!, table[k]!];
  const slope = Math.log(above.thrust / below.thrust) / Math.log(above.voltage / below.voltage);
  return below.thrust * (voltage / below.voltage) ** slope;
}

/** Energy that is flown, joules; null where the pack's is not declared. */
export function usableEnergy(battery: BatteryFacts | undefined, usual: number): number | null {
  return battery?.energy == null ? null : battery.energy * (battery.usable ?? usual);
}

/**
 * Endurance over that of now, if mass is added and all of it is battery of the same kind: energy grows with the pack's mass, power
 * with the mass of the whole to 1.5. It is longest where two thirds of the whole are battery.
 *
 * @param whole    now
 * @param battery  of it
 * @param added    0 or more
 */
export function enduranceAsBattery(whole: Kilograms, battery: Kilograms, added: Kilograms): number {
  return (1 + added / battery) * (whole / (whole + added)) ** 1.5;
}

/** Largest mass that still hovers for a time: m (t / t_asked)^(2/3), by the same law. */
export function massForEndurance(mass: Kilograms, endurance: Seconds, asked: Seconds): Kilograms {
  return mass * (endurance / asked) ** (2 / 3);
}

/** specific resistance of copper at 20 degrees Celsius, ohm metre (IEC 60028:1925) */
const copper = 1.7241e-8;

/** Voltage lost in a lead that was made longer, both conductors. */
export function leadDrop(longer: number, wire: number, current: number): Volts {
  return ((2 * copper * longer) / wire) * current;
}
