import { expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import type { Vector3 } from "../../src/foundation/units.ts";
import { flownAlong } from "./flownAlong.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

/** A fast path of the setpoint: circles of 1.2 m in 6 s with a rise and fall, 1.3 m/s and 1.3 m/s2. */
function asked(seconds: number): Vector3 {
  const angle = (2 * Math.PI * seconds) / 6;
  return [1.2 * Math.sin(angle), 1.2 * (1 - Math.cos(angle)), 0.3 * Math.sin(0.7 * angle)];
}
const plus = (a: Vector3, b: Vector3): Vector3 => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];

/** A simulated flight along that path, which the bodies follow `lag` seconds late and leave by `off` of time. */
const flown = (seed: number, lag: number, off: (seconds: number) => Vector3 = () => [0, 0, 0]): Recording =>
  flownAlong(shortFlight(seed), asked, (t) => plus(asked(t - lag), off(t)));

const runaway = (run: RunEvaluation): string[] => checksOf(run, "runaway").map(({ severity }) => severity);

test("a vehicle that leaves a moving setpoint for good makes its run unusable; one that only follows it late, or comes back, does not", async () => {
  const logs = {
    "late.bag": flown(1, 0.25),
    // half a second late at 1.3 m/s: 0.6 m of error throughout
    "later.bag": flown(2, 0.5),
    // 2 m/s away from 13 s on
    "leaves.bag": flown(3, 0.25, (t) => [1.6 * Math.max(0, t - 13), 1.2 * Math.max(0, t - 13), 0]),
    // blown 3 m away, and back within 3 s
    "returns.bag": flown(4, 0.25, (t) => [t > 12 && t < 15 ? 3 * Math.sin((Math.PI * (t - 12)) / 3) ** 2 : 0, 0, 0]),
  };
  for (const declared of ["orbit: { shape: logged }", null]) {
    const text = shortManifest(Object.keys(logs));
    const { runs } = await evaluateFlights(logs, declared === null ? text : text.replace(/orbit: \{[^}]*\}/, declared));
    const [late, later, leaves, returns] = runs;
    for (const run of [late!, later!, returns!]) expect(runaway(run)).toEqual([]);
    expect(late!.used).toBe(true);
    expect(runaway(leaves!)).toEqual(["unusable"]);
    expect(leaves!.excluded_because).toContain("runaway");
    const { evidence } = checksOf(leaves!, "runaway")[0]!;
    const beyond = evidence.beyond_m as number;
    // 2 m/s from 13 s on, besides an error of 1.3 m/s x 0.25 s
    expect(Math.abs((evidence.leaves_at_s as number) - 13 - beyond / 2)).toBeLessThan(0.25);
    expect(Math.abs((evidence.farthest_m as number) - 2 * ((evidence.window_end_s as number) - 13))).toBeLessThan(0.5);
  }
});
