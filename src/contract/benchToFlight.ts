import * as z from "zod";
import { axes } from "../foundation/tracks.ts";
import { counted, hertz, interval, kilograms, metres, plain } from "./quantities.ts";

const place = {
  trajectory: z.string().describe("name of the trajectory"),
  axis: z.enum(axes).describe("horizontal axis: of the arm base, and of the vehicle's mean heading"),
};

const sharedSchema = z.strictObject({
  ...place,
  configuration: z.string().describe("name of the configuration"),
  bench: z
    .array(
      z.strictObject({
        from: z.enum(["force", "gravity moment"]).describe("what of the bench shows it"),
        refits: counted.describe("how many it rests on"),
        value: kilograms.describe("apparent moving mass, mean over refits"),
        ci95: interval(kilograms).nullable().describe("its 95 % interval"),
        difference: kilograms.describe("flight less bench"),
        difference_ci95: interval(kilograms)
          .nullable()
          .describe("its 95 % interval (Welch, refits and runs as units); null where a side has fewer than two"),
        agrees: z.boolean().nullable().describe("whether that interval holds 0; null where it is not known"),
      }),
    )
    .describe("what the bench shows"),
  flight: z
    .strictObject({
      n: counted.describe("used runs"),
      value: kilograms.describe("apparent moving mass, mean over runs"),
      ci95: interval(kilograms).nullable().describe("its 95 % interval"),
    })
    .describe("what the flights show"),
  finding: z.string().describe("whether they agree; else which one stands apart, and what could make it so"),
});

/** What a prediction rests on, and where none can be made, why. */
export const forecastMethods = ["two transfers", "ratio law"] as const;

const refusal = z.string().nullable();

export const forecastSchema = z.strictObject({
  ...place,
  rate: hertz.describe("of the cycles as flown"),
  baseline: metres.describe("amplitude of the vehicle's first harmonic with the baseline, of the mean vector"),
  runs: counted.describe("baseline runs that it rests on"),
  force_reduction: plain.nullable().describe("1 less candidate over baseline, of the moving mass on the bench"),
  moment_reduction: plain
    .nullable()
    .describe("the same of gravity's and inertia's moment together, about the centre of mass, at this rate"),
  apart: plain.nullable().describe("upper end of the 95 % interval of their difference's size"),
  transfers_refused: refusal.describe("why the two transfers give no number; null where they do"),
  ratio_law_refused: refusal.describe("why the ratio law does not apply; null where it does"),
  method: z.enum(forecastMethods).nullable().describe("what the numbers below rest on; null: no prediction"),
  expected: metres.nullable().describe("amplitude with the candidate, middle of its range"),
  range: interval(metres).nullable().describe("what more mass and inertia can make of it, no more"),
  prediction: interval(metres)
    .nullable()
    .describe("95 % interval of the mean vector's length over as many candidate runs, range included"),
  difference: metres.nullable().describe("expected less baseline"),
  free_body: metres.describe(
    "force of the candidate over mass and square of the rate: no prediction where loops are slower than 1.5 Hz, for ranking alone",
  ),
  cell: z
    .strictObject({
      metric: z.enum(["rms", "synchronous"]).describe("measure of the cell"),
      baseline: metres.describe("mean over the baseline's runs"),
      expected: metres.describe("with the candidate; what is not in step stays as it is"),
      difference: metres.describe("expected less baseline"),
      smallest: metres.nullable().describe("smallest difference that matters; null where none is declared"),
      runs_needed: counted.nullable().describe("per configuration for a verdict; null where it is not known"),
      says: z.string().describe("in words"),
    })
    .nullable()
    .describe("what it means for the cell of the primary measure; null where that is not made of the vehicle's error"),
});
export type Forecast = z.infer<typeof forecastSchema>;

export const toFlightSchema = z.strictObject({
  shared: z.array(sharedSchema).describe("the one number that bench and flights both show, side by side"),
  forecast: z.array(forecastSchema).describe("what the bench and the baseline's flights say of the candidate's"),
  assumed: z.array(z.string()).describe("what the forecast takes for granted, in words"),
  sealed: z
    .strictObject({
      at: z.string().describe("ISO 8601, when it was written into looks.jsonl"),
      sha256: z.string().describe("of its JSON text, as it stands there"),
    })
    .nullable()
    .describe("the last forecast written before a candidate run was filed; null where none was"),
  held: z
    .array(
      z.strictObject({
        ...place,
        flown: metres.describe("length of the mean vector over the candidate's runs"),
        runs: counted.describe("how many"),
        expected: metres.describe("as forecast"),
        prediction: interval(metres).describe("as forecast"),
        within: z.boolean().describe("whether the flown value lies within it"),
      }),
    )
    .describe("the sealed forecast, else the present one, against what was flown"),
});
export type ToFlight = z.infer<typeof toFlightSchema>;
export type SharedNumber = z.infer<typeof sharedSchema>;
