import { likelyName } from "../../foundation/nearest.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import { listed } from "./fields.ts";
import { framePeriod } from "./instant.ts";
import { Complaint } from "./problems.ts";
import { isUnit } from "./quantity.ts";

const pose = ["x", "y", "z", "qx", "qy", "qz", "qw", "roll", "pitch", "yaw"];
const motors = Array.from({ length: 16 }, (_, index) => `m${index}`);

/** Columns a signal can have, by its role. */
export const columnNames: Readonly<Record<SignalName, readonly string[]>> = {
  vehicle_pose: pose,
  effector_pose: pose,
  vehicle_setpoint: pose,
  effector_command: pose,
  arm_phase: ["value"],
  vehicle_rate: ["wx", "wy", "wz"],
  vehicle_estimate: pose,
  battery: ["voltage", "current", "percentage", "cells"],
  motors,
  arm_effort: ["value"],
};

/** Columns without which the signal says nothing. */
const needed: Readonly<Record<SignalName, readonly string[]>> = {
  vehicle_pose: ["x", "y", "z"],
  effector_pose: ["x", "y", "z"],
  vehicle_setpoint: ["x", "y", "z"],
  effector_command: ["x", "y", "z"],
  arm_phase: ["value"],
  vehicle_rate: ["wx", "wy", "wz"],
  vehicle_estimate: ["x", "y", "z"],
  battery: ["voltage"],
  motors: ["m0"],
  arm_effort: ["value"],
};

/** Keys of `units` that speak of several columns, and the SI unit they are compared with. */
const groupUnits: Readonly<Record<string, string>> = {
  t: "s",
  position: "m",
  angle: "rad",
  attitude: "rad",
  rate: "rad/s",
  voltage: "V",
  current: "A",
};
const columnUnits: Readonly<Record<string, string>> = {
  x: "m",
  y: "m",
  z: "m",
  roll: "rad",
  pitch: "rad",
  yaw: "rad",
  wx: "rad/s",
  wy: "rad/s",
  wz: "rad/s",
};
const examples: Readonly<Record<string, string>> = {
  s: "s, ms, us, ns, iso for dates, or 100 Hz for numbers of frames",
  m: "m or mm",
  rad: "rad or deg",
  "rad/s": "rad/s or deg/s",
};

/** A name in `columns` or `fields` that the signal does not have, or null. */
export function unknownColumn(signal: SignalName, name: string): Complaint | null {
  const known = ["t", ...columnNames[signal]];
  if (known.includes(name)) return null;
  const near = likelyName(name, known);
  return new Complaint(`found the unknown column ${JSON.stringify(name)}, expected ${listed(known)}`, {
    hint: near === null ? "leave it out" : `did you mean ${near}?`,
  });
}

/** What a set of columns lacks to make a signal, or null. */
export function lackingColumns(
  signal: SignalName,
  columns: readonly string[],
  kind: "columns" | "fields",
): Complaint | null {
  const wanted = kind === "columns" ? ["t", ...needed[signal]] : [];
  const quaternion = ["qx", "qy", "qz", "qw"];
  if (quaternion.some((name) => columns.includes(name))) wanted.push(...quaternion);
  const lacking = wanted.filter((name) => !columns.includes(name));
  if (lacking.length === 0) return null;
  return new Complaint(`found no column for ${lacking.join(", ")}, expected at least ${wanted.join(", ")}`, {
    hint: `add ${lacking[0]}: and the name it has in the log`,
  });
}

/** What is wrong with one entry of `units`, or null. `columns` are those the signal declares. */
export function wrongUnit(key: string, unit: string, columns: readonly string[]): Complaint | null {
  const known = [...Object.keys(groupUnits), ...columns];
  if (!known.includes(key)) {
    const near = likelyName(key, known);
    return new Complaint(`found the unknown key ${JSON.stringify(key)}, expected ${listed(known)}`, {
      hint: near === null ? "leave it out" : `did you mean ${near}?`,
    });
  }
  // dates are written, not counted; frames are counted
  if (key === "t" && (/^iso$/i.test(unit) || framePeriod(unit) !== null)) return null;
  const reference = groupUnits[key] ?? columnUnits[key] ?? null;
  if (isUnit(unit, reference)) return null;
  const kind = isUnit(unit) ? "the unit of something else" : "an unknown unit";
  const expected = reference === null ? "a unit" : `a unit such as ${examples[reference] ?? reference}`;
  return new Complaint(`found ${JSON.stringify(unit)}, ${kind}, expected ${expected}`);
}
