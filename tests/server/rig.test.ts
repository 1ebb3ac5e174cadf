import { expect, test } from "vitest";
import { rigAnswer } from "../../server/answers/setupAnswer.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

const runs = inventedRuns([
  { configuration: "bare", value: 0.02 },
  { configuration: "weighted", value: 0.02 },
]);
const vehicle = { mass: 4, maxThrust: null, rotors: null, rotorDiameter: null };
const rig = (changes: Partial<Campaign>, blind = false) => rigAnswer(inventedCampaign(runs, changes), blind);
const part = (mass: number, at: readonly [number, number, number]) => ({ name: "a", mass, at, travel: [0, 0, 0] });

test("the centre of mass is drawn as declared, or as the parts add up to it; where nobody says, nothing is drawn", () => {
  expect(rig({}).com).toBeNull();
  expect(rig({ vehicle: { ...vehicle, com: [0.01, 0, -0.03] } } as Partial<Campaign>).com).toEqual({
    at: [0.01, 0, -0.03],
    source: "declared",
  });
  // exact: 3 kg at 0 and 1 kg at 80 mm below
  const parts = [part(3, [0, 0, 0]), part(1, [0, 0, -0.08])];
  const com = rig({ vehicle, parts } as unknown as Partial<Campaign>).com!;
  expect(com.source).toBe("ledger");
  expect(com.at[2]).toBeCloseTo(-0.02, 12);
});

test("blind, no mass stands beside a configuration", () => {
  const counterweights = [{ mass: 0.27, at: [-0.14, 0, 0.02] }];
  const configurations = {
    bare: { label: "Arm alone", addedMass: null, counterweights: [] },
    weighted: { label: "Counterweights fitted", addedMass: 0.27, counterweights },
  };
  const of = (blind: boolean) => rig({ configurations } as unknown as Partial<Campaign>, blind).counterweights;
  expect(of(true)).toEqual([{ configuration: null, weights: counterweights }]);
  expect(of(false)[0]!.configuration).toBe("Counterweights fitted");
});
