import { expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import type { Vector3 } from "../../src/foundation/units.ts";
import { flownAlong } from "./flownAlong.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

/** A simulated flight whose arm command stays at its first message, and whose setpoint and bodies go `way` of time besides. */
function flownAt(seed: number, way: (seconds: number) => Vector3): Recording {
  const { signals, ...rest } = flownAlong(shortFlight(seed), way, way);
  const command = signals.get("effector_command")!;
  const still = Object.fromEntries(
    ["x", "y", "z"].map((name) => [name, command.columns[name]!.map((_, __, all) => all[0]!)]),
  );
  const resting = { ...command, columns: { ...command.columns, ...still } };
  return { ...rest, signals: new Map(signals).set("effector_command", resting) };
}

/** From 14 s on, metres per second: down, or away to a landing place and down. */
const since = (seconds: number): number => Math.min(4, Math.max(0, seconds - 14));
const landing = (seconds: number): Vector3 => [0, 0, -0.3 * since(seconds)];
const away = (seconds: number): Vector3 => [0.3 * since(seconds), 0, -0.1 * since(seconds)];
/** Three turns of a circle of 0.4 m, from 5 to 20 s. */
const turning = (seconds: number): Vector3 => {
  const angle = (2 * Math.PI * Math.max(0, seconds - 5)) / 5;
  return [0.4 * (1 - Math.cos(angle)), 0.4 * Math.sin(angle), 0];
};

async function filed(period: string): Promise<readonly RunEvaluation[]> {
  const logs = { "landing.bag": flownAt(1, landing), "away.bag": flownAt(2, away), "turning.bag": flownAt(3, turning) };
  const text = shortManifest(Object.keys(logs)).replace(/orbit: \{[^}]*\}/, `orbit: { shape: logged${period} }`);
  expect(text).toContain("shape: logged");
  return (await evaluateFlights(logs, text)).runs;
}
const said = (run: RunEvaluation): string[] =>
  checksOf(run, "wrong-trajectory").flatMap(({ severity, message }) =>
    message.includes("command never moves") ? [severity] : [],
  );

test("with an arm command that never moves, a landing is no trajectory, a way to a place is doubted, and a path is flown", async () => {
  for (const period of ["", ", period: 5 s"]) {
    const [lands, goes, turns] = await filed(period);
    expect(said(lands!)).toEqual(["unusable"]);
    expect(lands!.windows.cycles).toEqual([]);
    expect(said(goes!)).toEqual(["doubt"]);
    expect(said(turns!)).toEqual([]);
    expect(turns!.windows.cycles.length).toBeGreaterThan(0);
  }
});
