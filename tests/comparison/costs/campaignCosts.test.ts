import { describe, expect, test } from "vitest";
import { campaignCosts } from "../../../src/comparison/costs/campaignCosts.ts";
import type { Campaign, VehicleFacts } from "../../../src/contract/campaign.ts";
import { type Costs, costsSchema } from "../../../src/contract/costs.ts";
import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import { standardGravity as g } from "../../../src/foundation/units.ts";
import { inventedCampaign } from "../../support/inventedCampaign.ts";
import { inventedRun } from "../../support/inventedEvaluation.ts";

const vehicle: VehicleFacts = { mass: 4.6, maxThrust: 92, rotors: 6, rotorDiameter: 0.33 };
const weights = [0.02, -0.02].map((z) => ({ mass: 0.27, at: [-0.14, 0, z] as const }));
const configurations: Campaign["configurations"] = {
  bare: { label: "Arm alone", addedMass: null, counterweights: [] },
  weighted: { label: "Counterweights fitted", addedMass: 0.54, counterweights: weights },
};

/** A run whose battery gave so many watts at 23 V in hover. */
function run(
  id: string,
  configuration: string,
  watts: number | null,
  changes: Partial<RunEvaluation> = {},
): RunEvaluation {
  const power =
    watts === null
      ? undefined
      : { mean: watts, why: null, voltage: 23, highest: 24.5, current: watts / 23, samples: 40 };
  return inventedRun({ id, configuration, block: null, ...(power && { power }), ...changes });
}

const unmeasured = ["bare", "bare", "weighted", "weighted"].map((name, i) => run(`run-${i}`, name, null));
function costs(changes: Partial<Campaign> = {}, runs: readonly RunEvaluation[] = unmeasured): Costs {
  const found = campaignCosts(inventedCampaign(runs, { vehicle, configurations, ...changes }), runs, defaultSettings);
  return costsSchema.parse(found);
}
const codes = (found: Costs): string[] => found.findings.map(({ code }) => code);
const of = (found: Costs, name: string): Costs["configurations"][string] => found.configurations[name]!;

describe("the ledger of the sample, by arithmetic", () => {
  test("thrust to weight 2.0394 and 1.8252, power times 1.1812, endurance 15.3 % less, all labelled", () => {
    const found = costs({ battery: { ...pack, energy: 99 * 3600 } });
    expect(of(found, "bare").thrust_to_weight).toMatchObject({ source: "declared", ci95: null });
    expect(of(found, "bare").thrust_to_weight!.value).toBeCloseTo(2.0394, 4);
    expect(of(found, "weighted").thrust_to_weight!.value).toBeCloseTo(1.8252, 4);
    expect(of(found, "weighted").power_ratio).toMatchObject({ source: "law" });
    expect(of(found, "weighted").power_ratio!.value).toBeCloseTo(1.1812, 4);
    expect(of(found, "weighted").endurance_ratio!.value - 1).toBeCloseTo(-0.153, 3);
    expect(of(found, "bare").endurance!.value / of(found, "weighted").endurance!.value).toBeCloseTo(1.1812, 4);
    // both masses within twice 0.5 %
    expect(of(found, "bare").takeoff_mass!.range![0]).toBeCloseTo(4.6 * 0.99, 12);
  });

  test("an ideal 270 W, twice that by law, over a range that holds the figures of real ones", () => {
    const { hover_power: power, hover_power_ideal: ideal, disc_loading: loading } = of(costs(), "bare");
    // (4.6 x 9.80665)^1.5 / sqrt(2 x 1.225 x 6 pi 0.33^2 / 4)
    expect(ideal).toBeCloseTo(270.21, 2);
    expect(power).toMatchObject({ value: 2 * ideal!, source: "law", ci95: null });
    expect(power!.range![0]).toBeLessThan(power!.value);
    expect(loading).toBeCloseTo((4.6 * g) / ((6 * Math.PI * 0.33 ** 2) / 4), 10);
  });

  test("a lower air density takes more power: declared, it is said", () => {
    const thin = costs({ airDensity: 1 });
    expect(of(thin, "bare").hover_power_ideal! / of(costs(), "bare").hover_power_ideal!).toBeCloseTo(
      Math.sqrt(1.225),
      10,
    );
    expect([thin.air_declared, costs().air_declared]).toEqual([true, false]);
  });

  test("the sample's own fall below 2 is said, and where a limit is declared that limit speaks instead", () => {
    expect(costs().findings).toMatchObject([
      { code: "thrust-below-two", severity: "note", message: expect.stringContaining("Counterweights fitted 1.83") },
    ]);
    const limits = { thrustToWeight: 1.9, missionTime: null, angularAcceleration: null };
    expect(costs({ limits }).findings).toMatchObject([
      { code: "thrust-below-limit", severity: "doubt", configuration: "weighted" },
    ]);
  });
});

const pack = { energy: null, usable: null, full: null, end: null, mass: null, wire: null };

describe("what was measured comes before the law", () => {
  const runs = [
    ...[600, 610, 605].map((watts, i) => run(`b${i}`, "bare", watts)),
    ...[700, 712, 706].map((watts, i) => run(`w${i}`, "weighted", watts)),
  ];
  const found = costs({ battery: { ...pack, energy: 360_000, usable: 0.5 } }, runs);

  // Student, 2 degrees of freedom: 605 +- 4.303 x 5 / sqrt 3
  test("mean over runs with Student's interval", () => {
    expect(of(found, "bare").hover_power).toMatchObject({ value: 605, source: "measured", range: null });
    expect(of(found, "bare").hover_power!.ci95![1] - 605).toBeCloseTo((4.30265 * 5) / Math.sqrt(3), 3);
    expect(of(found, "weighted").power_ratio).toMatchObject({ source: "measured" });
    expect(of(found, "weighted").power_ratio!.value).toBeCloseTo(706 / 605, 12);
  });

  test("endurance from it: 180 kJ over 605 W, its interval turned round", () => {
    const { endurance } = of(found, "bare");
    expect(endurance!.value).toBeCloseTo(180_000 / 605, 10);
    expect(endurance!.ci95![0]).toBeLessThan(endurance!.value);
    expect(endurance!.ci95![0] * of(found, "bare").hover_power!.ci95![1]).toBeCloseTo(180_000, 6);
    expect(endurance!.source).toBe("measured");
  });

  test("two runs far apart bound no endurance", () => {
    const wide = costs({ battery: { ...pack, energy: 360_000 } }, [run("b0", "bare", 300), run("b1", "bare", 900)]);
    expect(of(wide, "bare").hover_power!.ci95![0]).toBeLessThan(0);
    expect(of(wide, "bare").endurance).toMatchObject({ value: expect.closeTo(480, 9), ci95: null, source: "measured" });
  });

  test("a configuration that was not flown is computed from the measured baseline by the law", () => {
    const ballast = { label: "Same mass", addedMass: 0.54, counterweights: [] };
    const { hover_power: power } = of(costs({ configurations: { ...configurations, ballast } }, runs), "ballast");
    expect(power).toMatchObject({ source: "law", ci95: null });
    expect(power!.value).toBeCloseTo(605 * (5.14 / 4.6) ** 1.5, 8);
  });

  test("a gain of the sensor moves watts and not the ratio; one that no rotor has is a doubt", () => {
    const scaled = (gain: number): Costs =>
      costs(
        {},
        runs.map((one) => ({ ...one, power: { ...one.power!, mean: one.power!.mean! * gain } })),
      );
    expect(of(scaled(1.3), "weighted").power_ratio!.value).toBeCloseTo(of(found, "weighted").power_ratio!.value, 12);
    expect(codes(scaled(1.3))).not.toContain("power-implausible");
    // 605 W x 0.4 is less than the 270 W of ideal rotors; a thousandth is mA for A
    expect(codes(scaled(0.4))).toContain("power-implausible");
    expect(codes(scaled(10))).toContain("power-implausible");
  });

  test("what the motors were given in hover is measured, too", () => {
    const driven = runs.map((one) => ({
      ...one,
      outputs: { mean: one.configuration === "bare" ? 0.5 : 0.56, highest: 0.6, channels: 6 },
    }));
    const { hover_output: output, hover_output_highest: highest } = of(costs({}, driven), "weighted");
    expect([output, highest]).toMatchObject([
      { value: expect.closeTo(0.56, 12), source: "measured" },
      { value: expect.closeTo(0.6, 12), source: "measured" },
    ]);
  });

  // 2 and 6 in two trajectories, halved by the counterweights: the ratio is 0.5 however many runs each trajectory has
  test("the arm's effort is compared within trajectories", () => {
    const flown = [
      ["bare", "orbit", 2],
      ["bare", "orbit", 2.02],
      ["bare", "reach", 6],
      ["bare", "reach", 6.02],
      ["weighted", "orbit", 1],
      ["weighted", "orbit", 1.02],
      ["weighted", "orbit", 0.98],
      ["weighted", "reach", 3],
      ["weighted", "reach", 3.02],
    ] as const;
    const found = costs(
      {},
      flown.map(([name, trajectory, effort], i) => run(`r${i}`, name, null, { trajectory, effort })),
    );
    const { arm_effort: own, arm_effort_ratio: ratio } = of(found, "weighted");
    expect(own!.value).toBeCloseTo((1 + 1.02 + 0.98 + 3 + 3.02) / 5, 12);
    // differences -1.01 and -3, weighted by n n / (n + n) = 6/5 and 1, over the baseline's mean of 4.01
    expect(ratio!.value).toBeCloseTo(1 - (1.01 * 1.2 + 3) / 2.2 / 4.01, 10);
    expect(ratio!.source).toBe("measured");
    expect(of(found, "bare").arm_effort_ratio).toBeNull();
  });

  test("runs that a person left out do not count", () => {
    const wild = [...runs, run("b9", "bare", 9000, { used: false })];
    expect(of(costs({}, wild), "bare").hover_power!.value).toBe(605);
  });

  test("logs without a usable current say why, and the law stands in, labelled", () => {
    const none = unmeasured.map((one) => ({
      ...one,
      power: { mean: null, why: "no current was logged", voltage: 23, highest: 24, current: null, samples: 0 },
    }));
    const blind = costs({}, none);
    expect(of(blind, "bare").hover_power!.source).toBe("law");
    expect(blind.findings.find(({ code }) => code === "power-not-measured")!.message).toBe(
      "4 of 4 used runs with a logged battery give no power in hover: no current was logged",
    );
  });
});

describe("bad input", () => {
  test("thrust below weight: a doubt, and no endurance", () => {
    const found = costs({ vehicle: { ...vehicle, maxThrust: 40 }, battery: { ...pack, energy: 360_000 } });
    expect(codes(found)).toEqual(["thrust-below-weight", "thrust-below-weight"]);
    expect(of(found, "bare").endurance).toBeNull();
    expect(of(found, "weighted").endurance_ratio).toBeNull();
    // 46 N carry 4.6 kg (45.1 N), and no more
    expect(codes(costs({ vehicle: { ...vehicle, maxThrust: 46 } }))).toEqual([
      "thrust-below-weight",
      "thrust-below-two",
    ]);
  });

  // 13 inches written as 13 mm: 4.6 kg on six discs of 13 mm are 57 kN/m^2; 330 inches 0.04 N/m^2
  test.each([
    ["inches taken for millimetres", 0.013, true],
    ["millimetres taken for inches", 330 * 0.0254, true],
    ["13 inches", 13 * 0.0254, false],
  ])("disc loading: %s", (_, rotorDiameter, doubted) => {
    expect(codes(costs({ vehicle: { ...vehicle, rotorDiameter } })).includes("disc-loading")).toBe(doubted);
  });

  const flown = [run("b0", "bare", 600), run("w0", "weighted", 700)];
  test("a charged pack read under load: a log shows more", () => {
    const found = costs({ battery: { ...pack, full: 23.9, end: 20 } }, flown);
    expect(found.findings.find(({ code }) => code === "voltage-under-load")).toMatchObject({
      severity: "doubt",
      message: expect.stringContaining("24.50 V, more than the 23.90 V declared"),
    });
    expect(codes(costs({ battery: { ...pack, full: 24.5, end: 20 } }, flown))).not.toContain("voltage-under-load");
  });

  test("an end of the flight read at rest: runs hover below it", () => {
    const found = costs({ battery: { ...pack, full: 25.2, end: 23.4 } }, flown);
    expect(found.findings.find(({ code }) => code === "voltage-under-load")!.message).toMatch(
      /^2 of 2 used runs hover at less than the 23.40 V/,
    );
  });

  test("limits without the data to hold them against are named, and make no break-even", () => {
    const limits = { thrustToWeight: 2, missionTime: 300, angularAcceleration: 20 };
    const found = costs({ limits, vehicle: { ...vehicle, maxThrust: null } });
    expect(found.break_even).toBeNull();
    expect(found.findings.map(({ code, message }) => [code, message.split("`")[1]])).toEqual([
      ["limit-without-data", "thrust_to_weight"],
      ["limit-without-data", "mission_time"],
      ["limit-without-data", "angular_acceleration"],
    ]);
  });

  test("no mass, or nothing beside masses: no costs at all", () => {
    expect(campaignCosts(inventedCampaign([]), [], defaultSettings)).toBeNull();
    const only = inventedCampaign([], { vehicle: { ...vehicle, maxThrust: null, rotors: null }, configurations });
    expect(campaignCosts(only, [], defaultSettings)).toBeNull();
  });

  // the least and greatest lengths and energies that a manifest takes are no reason to write what no file can hold
  test.each([1e-300, 1e-160, 1e3])("a rotor, wire, inertia and battery of %s leave no number out of bounds", (size) => {
    const frame = { ...vehicle, rotorDiameter: size, rotorRadius: size, inertia: [size, size, size] as const };
    const limits = { thrustToWeight: 2, missionTime: size, angularAcceleration: size };
    const found = costs({
      vehicle: frame,
      limits,
      battery: { ...pack, energy: size, wire: size, mass: size, full: 25, end: 20 },
      airDensity: 1,
    });
    expect(JSON.stringify(found)).not.toMatch(/null,null|NaN|Infinity/);
    expect(Object.keys(found.configurations)).toEqual(["bare", "weighted"]);
  });

  test("each figure that is left out names what it takes", () => {
    const missing = (changes: Partial<VehicleFacts>): string[] =>
      costs({ vehicle: { ...vehicle, ...changes } }).missing.map(({ what, needs }) => `${what}: ${needs}`);
    expect(missing({})).toEqual([
      "thrust to weight at the end of the battery: `battery: full`, `battery: end`",
      "endurance in hover: `battery: energy`",
      "loads of the rotors: `vehicle: rotor_radius`",
      "attitude authority: `vehicle: rotor_radius`, `vehicle: inertia`",
    ]);
    expect(missing({ maxThrust: null })).toContain("thrust to weight: `vehicle: max_thrust`");
    expect(missing({ rotors: 2, rotorRadius: 0.2 })).toContain(
      "loads of the rotors: 3 places or more, evenly on a circle",
    );
    expect(missing({ rotors: null })).toContain("hover power: a logged current, or `vehicle: rotors`");
  });
});

describe("the end of the battery", () => {
  test("the square of the voltages by law, with a range of the exponent; a table is read", () => {
    const battery = { ...pack, full: 16.8, end: 14 };
    const law = of(costs({ battery }), "bare").thrust_to_weight_end!;
    expect(law).toMatchObject({ source: "law", ci95: null });
    expect(law.value).toBeCloseTo((92 * (14 / 16.8) ** 2) / (4.6 * g), 10);
    expect(law.range![0]).toBeLessThan((92 * (14 / 16.8) ** 2.4) / (4.6 * g));
    const table = [
      { voltage: 16.8, thrust: 92 },
      { voltage: 14, thrust: 66 },
    ];
    const read = of(costs({ battery, vehicle: { ...vehicle, maxThrustAt: table } }), "bare").thrust_to_weight_end!;
    expect(read).toMatchObject({ source: "declared" });
    expect(read.value).toBeCloseTo(66 / (4.6 * g), 10);
    // a table alone ends at its lowest voltage
    expect(of(costs({ vehicle: { ...vehicle, maxThrustAt: table } }), "bare").thrust_to_weight_end!.value).toBeCloseTo(
      66 / (4.6 * g),
      10,
    );
    // 46 N at the end carry 4.6 kg, not 5.14
    expect(codes(costs({ battery: { ...pack, full: 16.8, end: 12 } }))).toContain("thrust-below-weight");
  });
});

describe("largest mass, from declared limits alone", () => {
  test("none without limits", () => {
    expect(costs().break_even).toBeNull();
  });

  test("thrust and mission time by their formulas, the least of both, negative room where the baseline has none", () => {
    const limits = { thrustToWeight: 1.9, missionTime: 300, angularAcceleration: null };
    const runs = [run("b0", "bare", 600), run("b1", "bare", 600), run("w0", "weighted", 700)];
    const found = costs({ limits, battery: { ...pack, energy: 250_000, usable: 0.8, mass: 1.1 } }, runs).break_even!;
    const [thrust, mission] = found.bounds;
    expect(thrust!.mass).toBeCloseTo(92 / (1.9 * g), 10);
    expect(mission!.mass).toBeCloseTo(4.6 * (200_000 / 600 / 300) ** (2 / 3), 10);
    expect(mission!.source).toBe("measured");
    expect(found.mass).toBe(Math.min(thrust!.mass!, mission!.mass!));
    expect(found.added).toBeCloseTo(found.mass - 4.6, 12);
    // 540 g more of a pack of 1.1 kg: energy x 1.4909, power x 1.1812
    expect(found.as_battery).toBeCloseTo(1.4909 / 1.1812, 3);
    expect(costs({ limits: { ...limits, thrustToWeight: 3 } }).break_even!.added).toBeLessThan(0);
  });

  test("authority: at the mass found roll or pitch is what was asked for, a little more mass leaves less", () => {
    const frame = { ...vehicle, rotorRadius: 0.35, inertia: [0.09, 0.09, 0.15] as const };
    const limits = { thrustToWeight: null, missionTime: null, angularAcceleration: 90 };
    const found = costs({ limits, vehicle: frame }).break_even!.bounds[0]!.mass!;
    const at = (mass: number): number => {
      const scale = (mass - 4.6) / 0.54;
      const heavier = weights.map((weight) => ({ ...weight, mass: weight.mass * scale }));
      const own = { label: "w", addedMass: mass - 4.6, counterweights: heavier };
      const { angular_acceleration: a } = of(
        costs({ vehicle: frame, configurations: { ...configurations, weighted: own } }),
        "weighted",
      );
      return Math.min(a!.roll, a!.pitch);
    };
    expect(at(found)).toBeCloseTo(90, 6);
    expect(at(found + 0.05)).toBeLessThan(90);
  });

  test("a baseline that keeps less than the limit has no largest mass, and is doubted", () => {
    const frame = { ...vehicle, rotorRadius: 0.35, inertia: [0.09, 0.09, 0.15] as const };
    const limits = { thrustToWeight: null, missionTime: null, angularAcceleration: 5000 };
    const found = costs({ limits, vehicle: frame });
    expect(found.break_even).toBeNull();
    expect(codes(found)).toEqual([
      "authority-below-limit",
      "authority-below-limit",
      "thrust-below-two",
      "limit-without-data",
    ]);
  });
});

describe("a battery that was moved", () => {
  test("adds no mass; its shift, its inertia, the longer lead and what packs differ by are said", () => {
    const moved = {
      label: "Battery moved",
      addedMass: null,
      counterweights: [
        {
          mass: 0.27,
          at: [-0.14, 0, 0] as const,
          movedFrom: [0.04, 0, 0] as const,
          travel: [-1.07, 0, 0] as const,
          function: "battery",
        },
      ],
    };
    const trajectories: Campaign["trajectories"] = {
      reach: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 10 },
    };
    const runs = [run("b0", "bare", 690), run("m0", "weighted", 690)];
    const battery = { ...pack, wire: 2.5e-6 };
    const found = of(
      costs({ configurations: { bare: configurations.bare!, weighted: moved }, trajectories, battery }, runs),
      "weighted",
    );
    expect(found.takeoff_mass!.value).toBe(4.6);
    expect(found.moved).toMatchObject([{ what: "battery", mass: 0.27 }]);
    const [{ by, shift, lead_drop: drop, pack_spread: spread, pack_moment: moment }] = found.moved as [
      Costs["configurations"][string]["moved"][number],
    ];
    expect(by).toBeCloseTo(0.18, 12);
    expect(shift[0]).toBeCloseTo((0.27 * -0.18) / 4.6, 12);
    expect(drop).toBeCloseTo(((2 * 1.7241e-8 * 0.18) / 2.5e-6) * 30, 12);
    expect(spread).toBeCloseTo(0.0054, 12);
    expect(moment).toBeCloseTo(0.43e-3, 5);
    expect(found.inertia!.change.y).toBeCloseTo(0.27 * (0.14 ** 2 - 0.04 ** 2) - 4.6 * shift[0] ** 2, 12);
  });
});
