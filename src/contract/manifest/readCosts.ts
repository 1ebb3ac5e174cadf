import type { CostFacts, RotorFacts } from "../costDeclaration.ts";
import { choice, field, mapping, optional, pureNumber, quantity, share, triple } from "./fields.ts";
import { Complaint } from "./problems.ts";
import { parseQuantity } from "./quantity.ts";
import type { Reading } from "./reading.ts";
import { describeFound, isMapping, type TextMapping } from "./textTree.ts";

/** Most thrust as one force, or by the voltage that it was measured at. */
const thrust = field(
  (found): NonNullable<RotorFacts["maxThrustAt"]> | number => {
    if (!isMapping(found as never)) return parseQuantity(found, "force", { sign: "positive" });
    const table = Object.entries(found as TextMapping).map(([voltage, force]) => ({
      voltage: parseQuantity(voltage, "voltage", { sign: "positive" }),
      thrust: parseQuantity(force, "force", { sign: "positive" }),
    }));
    table.sort((a, b) => b.voltage - a.voltage);
    const falls = table.every((row, k) => k === 0 || row.thrust < table[k - 1]!.thrust);
    const apart = new Set(table.map(({ voltage }) => voltage)).size === table.length;
    if (table.length < 2 || !falls || !apart)
      throw new Complaint(
        `found ${table.length === 1 ? "one voltage" : "a table in which the thrust does not fall with the voltage"}, expected a force such as 92 N, or two and more by voltage such as { 16.8 V: 92 N, 14.0 V: 66 N }`,
        { hint: "give the thrust of all rotors together at full output, at each voltage" },
      );
    return table;
  },
  { type: ["string", "object"] },
);
const inertia = triple("inertia", "three moments of inertia such as [0.09 kg m^2, 0.09 kg m^2, 0.15 kg m^2]").refine(
  ([x, y, z]) => Math.min(x, y, z) > 0 && 2 * Math.max(x, y, z) <= (x + y + z) * 1.001,
  { error: "expected three moments above 0, none larger than the other two together: no body has others" },
);
const centre = triple("length", "a point of three lengths such as [0 mm, 0 mm, 20 mm]");
/** Keys of `vehicle` that only its costs need. */
export const rotorFields = {
  max_thrust: optional(thrust).describe(
    "of all rotors together at full output; one force, or by voltage: { 16.8 V: 92 N, 14.0 V: 66 N }",
  ),
  thrust_exponent: optional(positiveNumber("the power of the voltage that thrust goes with", 4)).describe(
    "thrust goes with this power of the voltage; 2 where it is left out",
  ),
  rotor_radius: optional(quantity("length", "positive")).describe(
    "of the circle that the rotors stand on, evenly apart",
  ),
  rotor_centre: optional(centre).describe("centre of that circle in its marker frame; left out, the body point"),
  first_rotor: optional(quantity("angle")).describe("of one rotor, from forward towards left"),
  coaxial: optional(choice(["yes", "no"], "whether two rotors stand in each place")).describe(
    "two rotors in each place",
  ),
  inertia: optional(inertia).describe("about its axes through its centre of mass, without what a configuration adds"),
};

export const batteryField = mapping(
  {
    energy: optional(quantity("energy", "positive")).describe("of a full pack"),
    usable: optional(share("a share such as 80 %")).describe("how much of it is flown; 80 % where it is left out"),
    full: optional(quantity("voltage", "positive")).describe("fully charged and at rest, nothing drawn"),
    end: optional(quantity("voltage", "positive")).describe("in flight, at which it is ended"),
    mass: optional(quantity("mass", "positive")).describe("of the pack"),
    wire: optional(quantity("area", "positive")).describe("cross-section of one conductor of its lead"),
  },
  "the battery",
);
export const limitsField = mapping(
  {
    thrust_to_weight: optional(positiveNumber("a thrust-to-weight ratio", 20)).describe(
      "least ratio of most thrust to weight, at the end of the battery where that is known",
    ),
    mission_time: optional(quantity("time", "positive")).describe("least time in hover"),
    angular_acceleration: optional(quantity("angular acceleration", "positive")).describe(
      "least that roll and pitch must reach",
    ),
  },
  "the limits",
);
export const airField = mapping(
  {
    density: optional(quantity("density", "positive")).describe("of the air"),
    pressure: optional(quantity("pressure", "positive")).describe("at the vehicle, not reduced to sea level"),
    temperature: optional(field(parseTemperature, { type: "string", unit: "a temperature such as 21 degC" })).describe(
      "of the air",
    ),
  },
  "the air",
);

/** specific gas constant of dry air, J/(kg K) (ISO 2533:1975) */
const gasConstant = 287.05287;
const zeroCelsius = 273.15;

/** Battery, limits and air; each is absent where the manifest says nothing of it. */
export function readCosts(reading: Reading, root: TextMapping): CostFacts {
  const battery = block(root.battery) ? reading.read(batteryField, root.battery, ["battery"]) : null;
  const limits = block(root.limits) ? reading.read(limitsField, root.limits, ["limits"]) : null;
  const air = block(root.air) ? reading.read(airField, root.air, ["air"]) : null;
  if (battery !== null && battery.full !== null && battery.end !== null && battery.end >= battery.full)
    reading.complain(
      ["battery", "end"],
      `found ${battery.end} V, expected less than \`full\`, ${battery.full} V`,
      "`full` is the charged pack at rest, `end` the voltage at which the flight is ended",
    );
  return {
    ...(battery === null ? {} : { battery }),
    ...(limits === null
      ? {}
      : {
          limits: {
            thrustToWeight: limits.thrust_to_weight,
            missionTime: limits.mission_time,
            angularAcceleration: limits.angular_acceleration,
          },
        }),
    ...(air === null ? {} : densityOf(reading, air)),
  };
}

const block = (found: unknown): boolean => found !== undefined && found !== null;

/** Density as declared, else of dry air as an ideal gas. */
function densityOf(
  reading: Reading,
  { density, pressure, temperature }: { density: number | null; pressure: number | null; temperature: number | null },
): Pick<CostFacts, "airDensity"> {
  const both = pressure !== null && temperature !== null;
  const one = (pressure === null) !== (temperature === null);
  if (one || (density !== null && both) || (density === null && !both)) {
    const message = "found neither a density, nor pressure and temperature, expected one of them";
    reading.complain(["air"], one || density === null ? message : "found density and pressure, expected one of them");
    return {};
  }
  const found = density ?? pressure! / (gasConstant * temperature!);
  if (found < 0.4 || found > 1.6)
    reading.complain(
      ["air"],
      `found air of ${found.toPrecision(3)} kg/m^3, expected 0.4 to 1.6 kg/m^3`,
      "is the pressure in the unit that it is written in (1013 hPa = 101.3 kPa)?",
    );
  return { airDensity: found };
}

function positiveNumber(what: string, most: number) {
  return pureNumber(what).refine((value) => value > 0 && value <= most, {
    error: (issue) => `found ${String(issue.input)}, expected ${what}, above 0 and at most ${most}`,
  });
}

/** Degrees Celsius or kelvin: the only scales with an offset that a manifest takes. */
function parseTemperature(found: unknown): number {
  const match =
    typeof found === "string"
      ? /^([+-]?(?:\d+\.?\d*|\.\d+))\s*(degC|°C|K)$/.exec(found.trim().replace("−", "-"))
      : null;
  const kelvin = match === null ? Number.NaN : Number(match[1]) + (match[2] === "K" ? 0 : zeroCelsius);
  if (kelvin > 180 && kelvin < 340) return kelvin;
  throw new Complaint(`found ${describeFound(found)}, expected a temperature such as 21 degC or 294 K`, {
    missing: !block(found),
  });
}
