import { describe, expect, test } from "vitest";
import { changed, read, refusal } from "./support.ts";

const vehicle = "vehicle: { mass: 4.6 kg, max_thrust: 92 N, rotors: 6, rotor_diameter: 330 mm }";
const having = (text: string): string => changed([vehicle, text]);
const beside = (text: string): string => having(`${vehicle}\n${text}`);

describe("what a manifest says of costs", () => {
  test("is read in SI: rotors, thrust by voltage, battery, limits, air", async () => {
    const campaign = await read(
      having(`vehicle:
  mass: 4.6 kg
  inertia: [0.09 kg m^2, 90 g m^2, 150000 kg mm^2]
  max_thrust: { 14.0 V: 66 N, 16.8 V: 92 N }
  thrust_exponent: 1.8
  rotors: 8
  coaxial: yes
  rotor_diameter: 330 mm
  rotor_radius: 350 mm
  rotor_centre: [0 mm, 0 mm, 20 mm]
  first_rotor: 30 deg
battery: { energy: 99 Wh, usable: 80 %, full: 16.8 V, end: 14000 mV, mass: 620 g, wire: 2.5 mm^2 }
limits: { thrust_to_weight: 1.8, mission_time: 8 min, angular_acceleration: 30 rad/s^2 }
air: { pressure: 1013.25 hPa, temperature: 15 degC }`),
    );
    expect(campaign.vehicle).toEqual({
      mass: 4.6,
      maxThrust: 92,
      maxThrustAt: [
        { voltage: 16.8, thrust: 92 },
        { voltage: 14, thrust: 66 },
      ],
      thrustExponent: 1.8,
      rotors: 8,
      coaxial: true,
      rotorDiameter: 0.33,
      rotorRadius: 0.35,
      rotorCentre: [0, 0, 0.02],
      firstRotor: Math.PI / 6,
      inertia: [0.09, 0.09, 0.15],
    });
    // 99 Wh are 356.4 kJ
    expect(campaign.battery).toEqual({ energy: 356_400, usable: 0.8, full: 16.8, end: 14, mass: 0.62, wire: 2.5e-6 });
    expect(campaign.limits).toEqual({ thrustToWeight: 1.8, missionTime: 480, angularAcceleration: 30 });
    // the standard atmosphere at sea level (ISO 2533): 1.225 kg/m^3
    expect(campaign.airDensity).toBeCloseTo(1.225, 4);
  });

  test("a manifest that says nothing of them has none of them", async () => {
    const campaign = await read(having(vehicle));
    for (const key of ["battery", "limits", "airDensity"]) expect(campaign).not.toHaveProperty(key);
    expect(Object.keys(campaign.vehicle!)).toEqual(["mass", "maxThrust", "rotors", "rotorDiameter"]);
  });

  test("air by its density, or kelvin", async () => {
    expect((await read(beside("air: { density: 1.1 kg/m^3 }"))).airDensity).toBe(1.1);
    const warm = await read(beside("air: { pressure: 900 hPa, temperature: 300 K }"));
    expect(warm.airDensity).toBeCloseTo(90_000 / (287.05287 * 300), 10);
  });

  test.each([
    [
      "a voltage of the end above the charged pack's",
      "battery: { full: 14 V, end: 16.8 V }",
      "battery.end: found 16.8 V, expected less than `full`, 14 V",
    ],
    [
      "milliampere hours for an energy",
      "battery: { energy: 8000 mAh }",
      "which is another kind of quantity, expected an energy such as 99 Wh",
    ],
    [
      "a temperature without its scale",
      "air: { pressure: 1013 hPa, temperature: 21 }",
      "expected a temperature such as 21 degC",
    ],
    [
      "a pressure without a temperature",
      "air: { pressure: 1013 hPa }",
      "found neither a density, nor pressure and temperature",
    ],
    ["a pressure in the wrong unit", "air: { pressure: 101.3 hPa, temperature: 15 degC }", "found air of 0.122 kg/m^3"],
    [
      "a limit of nothing",
      "limits: { thrust_to_weight: 0 }",
      "expected a thrust-to-weight ratio, above 0 and at most 20",
    ],
    ["a misspelled limit", "limits: { thrust_to_wieght: 2 }", "did you mean thrust_to_weight?"],
  ])("refuses %s", async (_, text, message) => {
    expect((await refusal(beside(text))).message).toContain(message);
  });

  test.each([
    [
      "a thrust that grows as the voltage falls",
      "max_thrust: { 14 V: 92 N, 16.8 V: 66 N }",
      "does not fall with the voltage",
    ],
    ["a table of one voltage", "max_thrust: { 16.8 V: 92 N }", "found one voltage"],
    ["a thrust in kilograms", "max_thrust: 9.4 kg", "which is a mass, expected a force such as 92 N"],
    ["an inertia that no body has", "inertia: [0.01 kg m^2, 0.01 kg m^2, 0.1 kg m^2]", "no body has others"],
    [
      "an odd number of coaxial rotors",
      "rotors: 7, coaxial: yes",
      "found 7 rotors in coaxial pairs, expected an even number",
    ],
    ["coaxial: maybe", "coaxial: maybe", "expected whether two rotors stand in each place: yes or no"],
  ])("refuses %s", async (_, text, message) => {
    expect((await refusal(having(`vehicle: { mass: 4.6 kg, ${text} }`))).message).toContain(message);
  });
});
