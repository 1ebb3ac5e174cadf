import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";
import type { SimulatedFlight } from "../../../src/simulation/simulateFlight.ts";
import { buildBag } from "../../support/writeBag.ts";
import { flightMessages } from "../flightBag.ts";
import { shortFlight } from "../shortCampaign.ts";
import { flightTable } from "./flightTable.ts";

// What is true is what the simulation flew: its numbers are in SI before they are scaled here.

const scratch = mkdtempSync(join(tmpdir(), "counterpoise-units-"));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));
const flight = shortFlight(3, { timeline: { hold: 8, pause: 1, rest: 2, takeOff: true } });
const whole: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_setpoint", "vehicle_rate"];

/** The lines of `signals` that are drafted for one log. */
async function drafted(file: string, bytes: string | Uint8Array): Promise<Readonly<Record<string, string>>> {
  const folder = join(scratch, file.replace(/\W/g, "-"));
  mkdirSync(folder);
  writeFileSync(join(folder, file), bytes);
  const { manifest } = await inspectFolder(folder);
  const lines = [...manifest.matchAll(/^ {2}(\w+): (\{.*)$/gm)].map(([, name, line]) => [name!, line!] as const);
  return Object.fromEntries(lines);
}

/** Some signals' columns of some names times a factor. */
function scaled(signals: readonly SignalName[], names: readonly string[], factor: number): SimulatedFlight {
  return {
    ...flight,
    signals: flight.signals.map((signal) =>
      signals.includes(signal.signal)
        ? {
            ...signal,
            columns: Object.fromEntries(
              Object.entries(signal.columns).map(([name, column]) => [
                name,
                names.includes(name) ? column.map((value) => factor * value) : column,
              ]),
            ),
          }
        : signal,
    ),
  };
}
const bag = (flown: SimulatedFlight): Buffer => buildBag(flightMessages(flown), { perChunk: 2000 }).bytes;

describe("numbers of a table give their unit away", () => {
  test.each([
    ["degrees", { euler: 180 / Math.PI }, "deg", "rad/s"],
    ["radians", { euler: 1 }, "rad", "rad/s"],
    ["degrees of angles and rates", { euler: 180 / Math.PI, rate: 180 / Math.PI }, "deg", "deg/s"],
    ["degrees of rates alone", { euler: 1, rate: 180 / Math.PI }, "rad", "deg/s"],
  ])("%s, by the tilt of a flight and by the gyro", async (name, units, angle, rate) => {
    const lines = await drafted(`${name}.csv`, flightTable(flight, whole, units));
    expect(lines.vehicle_pose).toContain(`angle: ${angle} }`);
    expect(lines.vehicle_rate).toContain(`rate: ${rate} }`);
    expect(lines.vehicle_rate).not.toContain("does not turn");
  });

  test.each([
    ["us", 1e6],
    ["ms", 1e3],
    ["ns", 1e9],
  ])("times in %s, by the interval between rows", async (unit, time) => {
    const lines = await drafted(`time-${unit}.csv`, flightTable(flight, whole, { time }));
    for (const name of whole) expect(lines[name]).toContain(`t: ${unit}`);
  });

  test("lengths that are too large for metres and too small for millimetres are asked for, and every role is found all the same", async () => {
    const lines = await drafted("inches.csv", flightTable(flight, whole, { length: 1 / 0.0254 }));
    for (const name of whole.slice(0, 3)) expect(lines[name]).toContain("position: <UNIT>");
    expect(lines.vehicle_pose).toContain("columns: { t: time, x: vehicle_pose_x");
    expect(lines.effector_pose).toContain("x: effector_pose_x");
    expect(lines.vehicle_setpoint).toContain("x: vehicle_setpoint_x");
  });
});

describe("messages say no unit, and what they show beside another gives it away", () => {
  test.each([
    ["in", 1 / 0.0254],
    ["cm", 100],
    ["ft", 1 / 0.3048],
    ["mm", 1000],
  ])("a capture in %s, by its distance from the setpoint", async (unit, factor) => {
    const lines = await drafted(
      `capture-${unit}.bag`,
      bag(scaled(["vehicle_pose", "effector_pose"], ["x", "y", "z"], factor)),
    );
    for (const name of ["vehicle_pose", "effector_pose"]) expect(lines[name]).toContain(`units: { position: ${unit} }`);
    expect(lines.vehicle_pose).toContain("topic: /mocap/airframe");
    expect(lines.vehicle_setpoint).not.toContain("units");
  });

  test("a gyro in degrees a second, by the attitude", async () => {
    const lines = await drafted("gyro.bag", bag(scaled(["vehicle_rate"], ["wx", "wy", "wz"], 180 / Math.PI)));
    expect(lines.vehicle_rate).toContain("units: { rate: deg/s }");
    expect(lines.vehicle_rate).not.toContain("does not turn");
  });

  test("one in metres and radians says nothing", async () => {
    const lines = await drafted("si.bag", bag(flight));
    for (const name of whole) expect(lines[name]).not.toContain("units");
  });
});
