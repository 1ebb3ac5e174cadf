import * as z from "zod";
import { interval, kilograms, metres, moments, perAxis, plain, seconds } from "./quantities.ts";

/**
 * What the mass costs: the part `costs` of evaluation.json. SI throughout; what is not known is null, and `missing` names what
 * it would take.
 */

const watts = plain.meta({ unit: "W" });
const newtons = plain.meta({ unit: "N" });
const inertias = plain.meta({ unit: "kg m^2" });
const angularAccelerations = plain.meta({ unit: "rad/s^2" });

/** Where a figure comes from: taken from the logs or the scales, computed by a law of physics, or written in the manifest. */
export const costSources = ["measured", "law", "declared"] as const;

const figure = <T extends z.ZodType>(of: T) =>
  z.strictObject({
    value: of.describe("the figure"),
    ci95: interval(of)
      .nullable()
      .describe("95 % interval over runs, of what was measured; null where fewer than two runs were"),
    range: interval(of)
      .nullable()
      .describe("of what is computed or declared: what it would be with what enters it at the ends of its own range"),
    source: z.enum(costSources).describe("measured, by law, or declared"),
  });

export const costConfiguration = z.strictObject({
  takeoff_mass: figure(kilograms).nullable().describe("as weighed, else as declared"),
  ledger: z
    .strictObject({
      sum: kilograms.describe("of all parts, and of the counterweights that were added"),
      apart: kilograms.describe("that sum less the take-off mass"),
      whole: z.boolean().describe("the ledger lists parts that rest, so that it is meant to be of the whole vehicle"),
    })
    .nullable()
    .describe("the parts held against the scales; null without parts"),
  thrust_to_weight: figure(plain).nullable().describe("most thrust over weight, on a full battery"),
  thrust_to_weight_end: figure(plain).nullable().describe("the same at the voltage at which the flight is ended"),
  disc_loading: plain.meta({ unit: "N/m^2" }).nullable().describe("weight over the area of the rotors' discs"),
  hover_power: figure(watts).nullable().describe("drawn from the battery in hover"),
  hover_power_ideal: watts.nullable().describe("what ideal rotors of this area need (actuator disc)"),
  hover_output: figure(plain).nullable().describe("output of the motors in hover, as a share of full"),
  hover_output_highest: figure(plain).nullable().describe("of the motor that is given most"),
  arm_effort: figure(plain.meta({ unit: "as logged" }))
    .nullable()
    .describe("rms of the arm's effort over the cycles"),
  arm_effort_ratio: figure(plain)
    .nullable()
    .describe("over the baseline's, within trajectories; null for the baseline"),
  power_ratio: figure(plain).nullable().describe("hover power over the baseline's; null for the baseline"),
  endurance: figure(seconds).nullable().describe("in hover, on the usable energy of a full pack"),
  endurance_ratio: figure(plain).nullable().describe("over the baseline's; null for the baseline"),
  rotor_loads: z
    .strictObject({
      mean: newtons.describe("weight over the number of rotors"),
      highest: newtons.describe("of the rotor that carries most in hover"),
      lowest: newtons.describe("of the one that carries least"),
      azimuth: z.enum(["declared", "worst"]).describe("worst: `first_rotor` is not declared, so the worst of all"),
      offset: z.tuple([metres, metres]).describe("of the centre of mass from the rotors' centre: forward, left"),
    })
    .nullable()
    .describe("thrust of one rotor, by statics"),
  angular_acceleration: z
    .strictObject({
      roll: angularAccelerations.describe("most that the rotors can give about the forward axis"),
      pitch: angularAccelerations.describe("about the axis to the left"),
    })
    .nullable()
    .describe("attitude authority from hover, on a full battery"),
  inertia: z
    .strictObject({
      change: perAxis(inertias).describe("by the counterweights, about the centre of mass of the whole"),
      whole: perAxis(inertias).nullable().describe("with them; null where the vehicle's is not declared"),
    })
    .nullable()
    .describe("null where no place of a counterweight is declared"),
  moved: z
    .array(
      z.strictObject({
        what: z.string().describe("what it is"),
        mass: kilograms.describe("that was moved"),
        by: metres.describe("how far"),
        shift: z.tuple([metres, metres, metres]).describe("of the centre of mass of the whole"),
        lead_drop: plain
          .meta({ unit: "V" })
          .nullable()
          .describe("voltage lost in the longer lead; null where not known"),
        pack_spread: kilograms.describe("by which packs of one kind differ (house value)"),
        pack_moment: moments
          .nullable()
          .describe("moving moment that this spread makes; null where its travel is not known"),
      }),
    )
    .describe("parts that were moved to balance the arm"),
});

const bound = z.strictObject({
  limit: z.enum(["thrust_to_weight", "mission_time", "angular_acceleration"]).describe("as declared under `limits`"),
  asked: plain.meta({ unit: "as the limit" }).describe("what must be kept"),
  mass: kilograms.nullable().describe("largest take-off mass that keeps it; null where what it takes is missing"),
  source: z.enum(costSources).describe("what it rests on"),
});

export const costsSchema = z.strictObject({
  air_density: plain.meta({ unit: "kg/m^3" }).describe("that the law is computed with"),
  air_declared: z.boolean().describe("false: the standard atmosphere at sea level"),
  configurations: z.record(z.string(), costConfiguration).describe("by name"),
  findings: z
    .array(
      z.strictObject({
        code: z.string().describe("what was found"),
        severity: z.enum(["note", "doubt"]).describe("doubt: a figure here may be wrong, or a margin is not kept"),
        configuration: z.string().nullable().describe("of which; null: of all"),
        message: z.string().describe("the finding in a sentence"),
        hint: z.string().describe("what to do about it"),
      }),
    )
    .describe("what speaks against a figure, and margins that are not kept"),
  missing: z
    .array(z.strictObject({ what: z.string().describe("the figure"), needs: z.string().describe("what it takes") }))
    .describe("figures that are left out"),
  break_even: z
    .strictObject({
      mass: kilograms.describe("largest take-off mass that keeps all limits"),
      added: kilograms.describe("that mass less the baseline's: negative where the baseline keeps them no more"),
      as_battery: plain
        .meta({ unit: "1" })
        .nullable()
        .describe("endurance over the baseline's if the candidate's added mass were battery; null where not known"),
      bounds: z.array(bound).describe("each limit by itself"),
    })
    .nullable()
    .describe("null where no limit is declared, or none can be held against anything"),
});

export type Costs = z.infer<typeof costsSchema>;
export type CostConfiguration = z.infer<typeof costConfiguration>;
export type CostFigure = NonNullable<CostConfiguration["takeoff_mass"]>;
