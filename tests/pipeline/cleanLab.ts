import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightSettings, FlownTrajectory } from "../../src/simulation/flightShape.ts";
import { type SimulatedFlight, simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { evaluateFlights, shortManifest } from "./shortCampaign.ts";

/** What one lab has: rates, noise, clocks, frames, heading, a trajectory, weights that do something. */
function lab(seed: number): { bare: FlightSettings; weighted: FlightSettings } {
  const { uniform } = seededRandom(4_000_000 + seed);
  const within = (low: number, high: number): number => low + (high - low) * uniform();
  const some = <T>(choices: readonly T[]): T => choices[Math.floor(uniform() * choices.length)]!;
  const angle = (degrees: number): number => within(-degrees, degrees) * (Math.PI / 180);
  const noise = some([0.0001, 0.0002, 0.0005]);
  const bare = flightSettings({
    timeline: { hold: within(9, 14), pause: 1, rest: 2, takeOff: uniform() < 0.4 },
    setpoint: [within(-1.5, 1.5), within(-1.5, 1.5), within(0.8, 2)],
    trajectory: trajectory(some, within),
    air: { force: [0.3, 0.3, 0.3].map((force) => force * within(0.3, 1.5)) as [number, number, number] },
    capture: { rate: some([50, 60, 100, 120, 200, 240]), positionNoise: [noise, noise, noise * within(1, 2)] },
    gyro: { rate: some([100, 200, 250]), noise: within(0.001, 0.005) },
    setpointRate: within(5, 100),
    commandRate: within(10, 200),
    clock: { offset: within(-1.5, 1.5), skew: within(-50e-6, 50e-6) },
    receipt: { jitter: within(0.0002, 0.003) },
    frames: {
      onboard: {
        translation: [within(-2, 2), within(-2, 2), within(-0.2, 0.2)],
        // a vehicle that faces anywhere: its own world is turned in the arena's
        rotation: [0, 0, angle(180)],
      },
      worldUp: some(["z", "z", "y"]),
    },
  });
  const balance = within(0.3, 0.8);
  const counterweights = [{ mass: 0.4, at: [-0.15, 0, 0] as const }];
  return { bare, weighted: flightSettings({ balance: [balance, balance, balance], counterweights }, bare) };
}

function trajectory(
  some: <T>(choices: readonly T[]) => T,
  within: (low: number, high: number) => number,
): FlownTrajectory {
  const cycles = Math.round(within(5, 9));
  const rampIn = some([0, 0, 1]);
  switch (some(["circle", "circle", "line", "hold"])) {
    case "circle": {
      const radius = within(0.04, 0.08);
      const plane = some(["xy", "yz", "xz"] as const);
      return { shape: "circle", plane, radius, speed: (2 * Math.PI * radius) / within(1.3, 3), cycles, rampIn };
    }
    case "line":
      return {
        shape: "line",
        axis: some(["x", "y", "z"] as const),
        stroke: within(0.06, 0.15),
        period: within(1.5, 3),
        cycles,
        rampIn,
      };
    default:
      return { shape: "hold", duration: within(15, 25) };
  }
}

/** Three runs of each configuration, in turn, of a lab in which nothing is wrong. */
export async function runsOfLab(seed: number): Promise<readonly RunEvaluation[]> {
  const { bare, weighted } = lab(seed);
  const flights: Record<string, SimulatedFlight> = {};
  const runs = Array.from({ length: 6 }, (_, i) => {
    const configuration = [0, 3, 4].includes(i) ? "bare" : "weighted";
    const log = `run-${i + 1}.bag`;
    flights[log] = simulateFlight(configuration === "bare" ? bare : weighted, 5_000_000 + 6 * seed + i);
    return { log, id: `run-${i + 1}`, configuration, trajectory: "orbit" };
  });
  return (await evaluateFlights(flights, shortManifest(runs, { flight: bare }))).runs;
}
