import { describe, expect, test } from "vitest";
import { addedMassOf, centreOfMass, expectedMovingMass, takeoffMassOf } from "../../../src/contract/ledger.ts";
import { changed, read, refusal } from "./support.ts";

const ledger = `vehicle: { mass: 4.6 kg, mass_uncertainty: 10 g, com: [2 mm, 0 mm, -30 mm], max_thrust: 92 N }
parts:
  - { name: airframe, mass: 3.75 kg, at: [0 mm, 0 mm, 0 mm], function: flies }
  - { name: arm, mass: 850 g, mass_uncertainty: 2 g, at: [100 mm, 0 mm, -200 mm], travel: 0.8 }
flight: { tether: slack }`;
const vehicle = "vehicle: { mass: 4.6 kg, max_thrust: 92 N, rotors: 6, rotor_diameter: 330 mm }";
const weights = "at: [-140 mm, 0 mm, 20 mm] }, { mass: 270 g, at: [-140 mm, 0 mm, -20 mm] }";
const travelling =
  "at: [-140 mm, 0 mm, 20 mm], travel: [-1.07, -0.152, 0] }, { mass: 270 g, at: [-140 mm, 0 mm, -20 mm], travel: [-1.07, -0.152, 0] }";

describe("the mass ledger of a manifest", () => {
  test("is read in SI: parts, travel along three axes, centre of mass, how it was flown", async () => {
    const text = changed(
      [vehicle, ledger],
      [weights, travelling],
      ["trajectory: orbit, block: day1 }", "trajectory: orbit, block: day1, flight: { contact: [40 s, 52 s] } }"],
    );
    const campaign = await read(text);
    expect(campaign.vehicle).toMatchObject({ massUncertainty: 0.01, com: [0.002, 0, -0.03] });
    expect(campaign.parts).toEqual([
      { name: "airframe", mass: 3.75, at: [0, 0, 0], travel: [0, 0, 0], function: "flies" },
      { name: "arm", mass: 0.85, massUncertainty: 0.002, at: [0.1, 0, -0.2], travel: [0.8, 0.8, 0.8], function: null },
    ]);
    expect(campaign.flight).toEqual({ tether: "slack", contact: null });
    expect(campaign.runs.map(({ flight }) => flight)).toEqual([{ tether: "none", contact: [40, 52] }, undefined]);
    // 850 g x 0.8 - 540 g x {1.07, 0.152}: by hand
    expect(expectedMovingMass(campaign, "bare", 0, 0.005)!.value).toBeCloseTo(0.68, 12);
    expect(expectedMovingMass(campaign, "weighted", 0, 0.005)!.value).toBeCloseTo(0.1022, 12);
    expect(expectedMovingMass(campaign, "weighted", 1, 0.005)!.value).toBeCloseTo(0.59792, 12);
    // 2 g x 0.8 of the arm, 0.5 % of 270 g x 1.07 twice
    expect(expectedMovingMass(campaign, "weighted", 0, 0.005)!.se).toBeCloseTo(
      Math.hypot(0.0016, 0.0014445, 0.0014445),
      12,
    );
    expect(takeoffMassOf(campaign, { configuration: "weighted", takeoffMass: null })).toBeCloseTo(5.14, 12);
    expect(takeoffMassOf(campaign, { configuration: "weighted", takeoffMass: 5.2 })).toBe(5.2);
    // the declared centre with 540 g at -140 mm: (4.6 x 2 - 0.54 x 140) / 5.14 mm
    expect(centreOfMass(campaign, "weighted")).toEqual({
      at: [expect.closeTo(-0.012918, 5), 0, expect.closeTo(-0.0268482, 6)],
      source: "moved",
    });
    expect(centreOfMass(campaign, "bare")).toEqual({ at: [0.002, 0, -0.03], source: "declared" });
  });

  test("a part that was moved adds no mass, and shifts the centre of mass by its way alone", async () => {
    const campaign = await read(
      changed(
        [vehicle, ledger],
        [
          `added_mass: 540 g, counterweights: [{ mass: 270 g, ${weights}] }`,
          "counterweights: [{ mass: 270 g, at: [-140 mm, 0 mm, 0 mm], travel: -1.07, moved_from: [40 mm, 0 mm, 10 mm], function: battery }] }",
        ],
      ),
    );
    const { weighted } = campaign.configurations;
    expect(weighted!.counterweights).toMatchObject([{ movedFrom: [0.04, 0, 0.01], function: "battery" }]);
    expect(addedMassOf(campaign, "weighted")).toBe(0);
    expect(takeoffMassOf(campaign, { configuration: "weighted", takeoffMass: null })).toBeCloseTo(4.6, 12);
    // 270 g x -180 mm and x -10 mm over the whole's 4.6 kg
    const { at } = centreOfMass(campaign, "weighted");
    expect(at[0]).toBeCloseTo(0.002 - (0.27 * 0.18) / 4.6, 12);
    expect(at[2]).toBeCloseTo(-0.03 - (0.27 * 0.01) / 4.6, 12);
    // its travel balances all the same
    expect(expectedMovingMass(campaign, "weighted", 0, 0.005)!.value).toBeCloseTo(0.68 - 0.27 * 1.07, 12);
  });

  test("is summed up where it holds the whole and no centre of mass is declared; else the body point stands for it", async () => {
    const summed = await read(changed([vehicle, ledger.replace("com: [2 mm, 0 mm, -30 mm], ", "")]));
    expect(centreOfMass(summed, "bare")).toEqual({
      at: [expect.closeTo(0.0184783, 6), 0, expect.closeTo(-0.0369565, 6)],
      source: "ledger",
    });
    const none = await read(changed());
    expect(centreOfMass(none, "bare")).toEqual({ at: [0, 0, 0], source: "body_point" });
    expect(expectedMovingMass(none, "bare", 0, 0.005)).toBeNull();
    const own = await read(
      changed(["label: Same mass at the centre,", "label: Same mass at the centre, com: [0 mm, 0 mm, -40 mm],"]),
    );
    expect(centreOfMass(own, "ballast")).toEqual({ at: [0, 0, -0.04], source: "declared" });
  });

  test.each([
    [
      "travel: 0.8 }",
      "travel: 0.8 mm }",
      /parts#2\.travel: .*travel of its mass centre per travel of the control point/,
    ],
    ["travel: 0.8 }", "travel: [1, 2] }", /parts#2\.travel: .*one number or three/],
    ["mass: 850 g", "mass: 850", /parts#2\.mass/],
    ["tether: slack", "tether: loose", /flight\.tether: .*none, slack or tension/],
    ["name: arm", "nam: arm", /parts#2.*unknown key "nam"/],
  ])("%s written as %s is refused with its place", async (from, to, message) => {
    const { problems } = await refusal(changed([vehicle, ledger.replace(from, to)]));
    expect(problems.map((problem) => problem.message).join("\n")).toMatch(message);
  });
});
