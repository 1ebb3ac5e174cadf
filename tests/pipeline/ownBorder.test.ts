import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test, vi } from "vitest";
import { alignRun } from "../../src/alignment/alignRun.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { measureExtras } from "../../src/pipeline/measureExtras.ts";
import { measureRun } from "../../src/pipeline/measureRun.ts";
import { readRunSignals } from "../../src/pipeline/readRunSignals.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { buildBag } from "../support/writeBag.ts";
import { flightMessages } from "./flightBag.ts";
import { evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

// files share a process and its modules: those that an earlier file loaded would keep what they import
vi.hoisted(() => vi.resetModules());
// every stage is the true one unless a test lets it throw once
vi.mock("../../src/alignment/alignRun.ts", async (original) => spied(await original()));
vi.mock("../../src/pipeline/readRunSignals.ts", async (original) => spied(await original()));
vi.mock("../../src/pipeline/measureRun.ts", async (original) => spied(await original()));
vi.mock("../../src/pipeline/measureExtras.ts", async (original) => spied(await original()));
const spied = vi.hoisted(
  () => (module: object) =>
    Object.fromEntries(
      Object.entries(module).map(([name, value]) => [name, typeof value === "function" ? vi.fn(value) : value]),
    ),
);

const scratch = mkdtempSync(join(tmpdir(), "counterpoise-border-"));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

describe("whatever is thrown while a run is worked through makes that run unusable, and no other", () => {
  const flights = { "1.bag": shortFlight(1), "2.bag": shortFlight(2) };

  test.each([
    ["reading", readRunSignals],
    ["aligning", alignRun],
    ["measuring", measureRun],
    ["the extras", measureExtras],
  ])("%s", async (_, stage) => {
    vi.mocked(stage as () => unknown).mockImplementationOnce(() => {
      throw new TypeError("a fault of this stage");
    });
    const { runs } = await evaluateFlights(flights);
    expect(runs.map(({ id, used }) => `${id} ${used}`)).toEqual(["1 false", "2 true"]);
    const grave = runs[0]!.checks.filter(({ severity }) => severity === "unusable");
    expect(grave.map(({ code, message }) => `${code}: ${message}`)).toEqual([
      "log-unreadable: what the log holds cannot be worked through (TypeError: a fault of this stage)",
    ]);
    expect(grave[0]!.evidence).not.toHaveProperty("stack");
  });

  test("the place in the program is kept where COUNTERPOISE_DEBUG asks for it", async () => {
    vi.stubEnv("COUNTERPOISE_DEBUG", "1");
    vi.mocked(measureRun).mockImplementationOnce(() => {
      throw new TypeError("a fault of this stage");
    });
    const { runs } = await evaluateFlights(flights);
    vi.unstubAllEnvs();
    expect(runs[0]!.checks.find(({ severity }) => severity === "unusable")!.evidence.stack).toContain("ownBorder.test");
  });
});

/** One number of a signal's column, well within the flight, replaced. */
function withOne(flight: SimulatedFlight, signal: SignalName, name: string, value: number): SimulatedFlight {
  return {
    ...flight,
    signals: flight.signals.map((one) => {
      if (one.signal !== signal) return one;
      const column = one.columns[name]!.slice();
      column[Math.floor(0.7 * column.length)] = value;
      return { ...one, columns: { ...one.columns, [name]: column } };
    }),
  };
}

test.each([
  ["vehicle_rate", "wx", 1e200],
  ["vehicle_pose", "x", 1e200],
  ["vehicle_setpoint", "z", 1e308],
  ["effector_pose", "y", -1e250],
  ["effector_command", "x", 1e308],
] as const)(
  "one corrupt number of %s %s is left out and reported, and the run keeps its figures",
  async (signal, name, value) => {
    const path = join(scratch, `${signal}.yaml`);
    const write = (log: string, flight: SimulatedFlight): void =>
      writeFileSync(join(scratch, log), buildBag(flightMessages(flight), { perChunk: 2000 }).bytes);
    const flight = shortFlight(3);
    write("sound.bag", flight);
    write("corrupt.bag", withOne(flight, signal, name, value));
    const rmsOf = async (log: string): Promise<number> => {
      writeFileSync(path, shortManifest([log]));
      const { runs } = await evaluateCampaign(path, { look: false });
      if (log === "corrupt.bag")
        expect(
          runs[0]!.checks.filter(({ severity }) => severity !== "note").map(({ message }) => message),
        ).toContainEqual(expect.stringMatching(new RegExp(`${signal}: 1 of \\d+ numbers of ${name} are larger than`)));
      expect(runs[0]!.used).toBe(true);
      return runs[0]!.tracking.cycles!.vehicle!.x.rms;
    };
    // one sample of 900 less, on a signal that the error may not even rest on
    expect((await rmsOf("corrupt.bag")) / (await rmsOf("sound.bag"))).toBeCloseTo(1, 2);
  },
);
