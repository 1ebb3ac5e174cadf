import * as z from "zod";
import {
  choice,
  count,
  field,
  list,
  mapping,
  optional,
  pureNumber,
  quantity,
  share,
  text,
  triple,
  withDefault,
} from "./fields.ts";
import { Complaint } from "./problems.ts";
import { parseQuantity, quantityPattern } from "./quantity.ts";
import { transform } from "./readFrames.ts";
import { trajectoryField } from "./readTrajectories.ts";
import { logSchema, parseReason } from "./runSchema.ts";
import { describeFound } from "./textTree.ts";

const point = triple("length", "a point of three lengths such as [0 mm, 120 mm, 0 mm]");
const texts = (what: string) =>
  mapping({}, what)
    .loose()
    .meta({ additionalProperties: { type: ["string", "number"] } });
export const source = mapping(
  {
    topic: optional(text("the topic's name")).describe("of a log of messages"),
    log: optional(text("one of the names under a run's logs")).describe("which of a run's `logs` has it"),
    columns: optional(texts("columns by name")).describe(
      'of a table: { t: "Time (ms)", fx: "Fx (N)", ..., mz: "Mz (N-mm)", sequence: n, status: s }',
    ),
    fields: optional(texts("fields by name")).describe("of a message type that is not known"),
    units: optional(texts("units by name")).describe("of columns, or of `force`, `moment`, `position`, `t`"),
    clock: withDefault(text("the name of a clock"), "bench").describe("the clock that stamped it"),
  },
  "a signal of the bench",
);
const filter = z.union(
  [
    choice(["none"], "no filter"),
    mapping(
      {
        kind: choice(["low-pass", "rc"], "the kind of filter").describe("Butterworth, or equal first-order stages"),
        order: count("the filter's order", 8).describe("of the filter"),
        cutoff: quantity("rate", "positive").describe("-3 dB of the whole"),
      },
      "a filter",
    ),
  ],
  {
    error: (issue) =>
      `found ${describeFound(issue.input)}, expected none, or { kind: low-pass, order: 2, cutoff: 73 Hz }`,
  },
);
const sensor = mapping(
  {
    at: transform.describe("measuring origin and axes of the sensor, in the arm base"),
    sign: choice(["on_sensor", "on_arm"], "whose wrench is logged").describe(
      "the one on the sensor, or the one on the arm",
    ),
    full_scale: optional(
      mapping(
        {
          force: triple("force", "three forces such as 80 N").describe("along x, y, z"),
          moment: triple("moment", "three moments such as 4 N m").describe("about x, y, z"),
        },
        "full scales",
      ),
    ).describe("of the sensor, per axis: shows saturation"),
    cross_talk: optional(share("a share of full scale such as 2 %")).describe("of full scale"),
    counts: optional(
      mapping(
        {
          force: pureNumber("counts per unit of force").describe("counts that make a unit of force"),
          moment: pureNumber("counts per unit of moment").describe("counts that make a unit of moment"),
          of: mapping(
            {
              force: text("a unit of force").describe("such as N"),
              moment: text("a unit of moment").describe("such as N m"),
            },
            "units",
          ).describe("the units"),
        },
        "counts",
      ),
    ).describe("of raw counts: how many make a unit"),
    filter: optional(filter).describe("of the measuring device; none where there is none"),
    calibrated: optional(text("a date")).describe("when it was last calibrated"),
  },
  "the sensor",
);
const speed = field(
  (found): { readonly text: string; readonly kind: "rate" | "time" | "speed"; readonly value: number } => {
    const faults: Complaint[] = [];
    for (const kind of ["speed", "time", "rate"] as const) {
      try {
        return { text: String(found).trim(), kind, value: parseQuantity(found, kind, { sign: "positive" }) };
      } catch (error) {
        if (!(error instanceof Complaint)) throw error;
        faults.push(error);
      }
    }
    throw new Complaint(
      `found ${describeFound(found)}, expected a speed such as 0.25 m/s, a period such as 1.9 s or a rate such as 0.5 Hz`,
      { hint: faults[0]!.hint },
    );
  },
  { type: "string", pattern: quantityPattern },
);
export const benchRunShape = {
  log: optional(logSchema).describe("path of its file from the manifest on"),
  logs: optional(mapping({}, "logs by name").loose()).describe("its files by name: { ft: a.csv, arm: b.csv }"),
  id: optional(text("the run's id")).describe("its name; else that of its log"),
  configuration: text("the name of a configuration").describe("one of `configurations`"),
  trajectory: text("the name of a trajectory").describe("one of `trajectories`"),
  speed: optional(speed).describe("0.25 m/s, a period 1.9 s or a rate 0.5 Hz; else the trajectory's own"),
  cycles: optional(count("cycles")).describe("whole cycles run"),
  refit: optional(text("the name of a refit")).describe("which mounting of the arm: the unit of the bench"),
  temperature: optional(pureNumber("a temperature in degrees Celsius")).describe("of the sensor, degrees Celsius"),
  exclude: optional(field(parseReason, { type: "string" })).describe("why the run is left out, in words"),
};
export const benchRun = mapping(benchRunShape, "a run of the bench");
const tareField = mapping(
  {
    before: optional(quantity("time", "positive")).describe("rest at the beginning of every file"),
    after: optional(quantity("time", "positive")).describe("rest at the end"),
  },
  "the tare",
);
const knownMass = mapping(
  {
    log: text("the path of a file").describe("in which the mass is hung on and taken off"),
    mass: quantity("mass", "positive").describe("as weighed"),
    at: point.describe("where it hangs, in the arm base"),
  },
  "a known mass",
);
const tap = mapping(
  {
    log: text("the path of a file").describe("in which the mounted arm is struck once"),
    configuration: text("the name of a configuration").describe("what was mounted"),
    at: point.describe("where it is struck, in the arm base"),
    along: choice(["x", "y", "z"], "the direction of the blow").describe("direction of the blow"),
  },
  "a tap",
);
const pointField = z.union([choice(["sensor", "arm_base", "vehicle_com"], "the point that moments are about"), point], {
  error: (issue) =>
    `found ${describeFound(issue.input)}, expected sensor, arm_base, vehicle_com or a point such as [0 mm, 0 mm, 40 mm]`,
});

/** The block as JSON Schema knows it; it is read key by key. */
export const benchField = optional(
  mapping(
    {
      sensor: sensor.describe("the six-axis sensor under the arm"),
      point: withDefault(pointField, "arm_base").describe("moments are about it"),
      signals: mapping(
        {
          wrench: source.describe("forces and moments, with sequence and status where they are logged"),
          arm: optional(source).describe("the control point in the arm base: measured, else its command"),
          key_phase: optional(source).describe("one mark a cycle, where no position is logged"),
        },
        "the signals of the bench",
      ).describe("where they stand in the files"),
      tare: optional(tareField).describe("arm at rest in its start posture at both ends of every file"),
      same_motion: optional(list(choice(["wrench", "arm"], "a signal of the bench"), "two signals")).describe(
        "[wrench, arm] where the two stand on different clocks: joined by force and acceleration",
      ),
      known_mass: optional(list(knownMass, "known masses")).describe(
        "hung on and taken off; two places show the horizontal lever",
      ),
      tap: optional(list(tap, "taps")).describe("blows on the mounted arm: resonance, and the height of the lever"),
      trajectories: optional(z.record(z.string(), trajectoryField)).describe(
        "what the arm was asked to run on the bench alone, by name; those of the flights stand in the manifest",
      ),
      runs: z.union([text("the path of a table"), list(benchRun, "runs")]).describe("the runs, or a table of them"),
    },
    "the bench",
  ),
);
