import { beforeAll, describe, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import { toRecording } from "../support/toRecording.ts";
import { evaluateFlights, idOf, shortFlight, shortManifest } from "./shortCampaign.ts";

const counterweights = [0.02, -0.02].map((z) => ({ mass: 0.27, at: [-0.14, 0, z] as const }));
const logs = ["b1.bag", "b2.bag", "b3.bag", "w1.bag", "w2.bag", "w3.bag"];
const heavy = (log: string): boolean => log.startsWith("w");
const flights = new Map(
  logs.map((log, seed) => [log, toRecording(shortFlight(seed + 1, heavy(log) ? { counterweights } : {}))]),
);
const signals = [
  "vehicle_pose",
  "effector_pose",
  "vehicle_setpoint",
  "effector_command",
  "vehicle_rate",
  "battery",
] as const;
const manifest = shortManifest(
  logs.map((log) => ({
    log,
    id: idOf(log),
    configuration: heavy(log) ? "weighted" : "bare",
    trajectory: "orbit",
    block: "day1",
  })),
  {
    configurations: {
      bare: { label: "Arm alone" },
      weighted: { label: "Counterweights fitted", counterweights },
    },
    signals,
  },
);

/** The campaign with every reading of the current changed. */
async function having(change: (current: number, log: string, i: number) => number): Promise<CampaignEvaluation> {
  const changed = [...flights].map(([log, recording]): [string, Recording] => {
    const battery = recording.signals.get("battery")!;
    const current = battery.columns.current!.map((value, i) => change(value, log, i));
    const signals = new Map(recording.signals);
    return [
      log,
      { ...recording, signals: signals.set("battery", { ...battery, columns: { ...battery.columns, current } }) },
    ];
  });
  return evaluateFlights(Object.fromEntries(changed), manifest);
}

const found = ({ costs }: CampaignEvaluation, name: string) => costs!.configurations[name]!;

// src/simulation/onboard.ts: hover draws 32 A x (m / 4.6)^1.5, with 0.8 A of noise a reading, 2 readings a second
describe("hover power of simulated flights, from logs to costs", () => {
  let right: CampaignEvaluation;
  beforeAll(async () => {
    right = await having((current) => current);
  });

  test("each run's current is the truth within four standard errors, and the power that times its voltage", () => {
    for (const run of right.runs) {
      const { current, voltage, mean, samples } = run.power!;
      const truth = 32 * ((run.configuration === "bare" ? 4.6 : 5.14) / 4.6) ** 1.5;
      expect(samples).toBeGreaterThan(5);
      expect(Math.abs(current! - truth)).toBeLessThan((4 * 0.8) / Math.sqrt(samples));
      expect(Math.abs(mean! / (current! * voltage!) - 1)).toBeLessThan(0.002);
    }
  });

  test("the ratio's interval holds the true one, measured, and the watts are those of the runs", () => {
    const { power_ratio: ratio, hover_power: power } = found(right, "weighted");
    expect([ratio!.source, power!.source]).toEqual(["measured", "measured"]);
    const volts = (name: string): number => {
      const own = right.runs.filter(({ configuration }) => configuration === name);
      return own.reduce((sum, run) => sum + run.power!.voltage!, 0) / own.length;
    };
    const truth = ((5.14 / 4.6) ** 1.5 * volts("weighted")) / volts("bare");
    expect(ratio!.ci95![0]).toBeLessThan(truth);
    expect(ratio!.ci95![1]).toBeGreaterThan(truth);
  });

  test("a log that has the other sign in some runs changes nothing", async () => {
    const turned = await having((current, log) => (log === "b2.bag" || log === "w3.bag" ? -current : current));
    expect(turned.costs!.configurations).toEqual(right.costs!.configurations);
  });

  test("a gain of 1.2 makes 20 % more watts and leaves the ratio; milliamperes taken for amperes are a doubt", async () => {
    const gained = await having((current) => 1.2 * current);
    expect(found(gained, "bare").hover_power!.value / found(right, "bare").hover_power!.value).toBeCloseTo(1.2, 10);
    expect(found(gained, "weighted").power_ratio!.value).toBeCloseTo(found(right, "weighted").power_ratio!.value, 10);
    const wrong = await having((current) => 1000 * current);
    expect(wrong.costs!.findings.map(({ code }) => code)).toContain("power-implausible");
  });

  test("runs that log -1 or NaN for the current are left out and said, the others stand", async () => {
    const some = await having((current, log) => (log === "b1.bag" ? -1 : log === "w1.bag" ? Number.NaN : current));
    expect(some.runs.filter(({ power }) => power!.mean === null).map(({ id }) => id)).toEqual(["b1", "w1"]);
    expect(some.costs!.findings.find(({ code }) => code === "power-not-measured")!.message).toMatch(
      /^2 of 6 used runs with a logged battery give no power in hover: \d+ of \d+ readings are marked as not measured/,
    );
    expect(found(some, "bare").hover_power!.source).toBe("measured");
  });

  test("where no run has a current, watts are by law and labelled so", async () => {
    const none = await having(() => Number.NaN);
    expect(found(none, "bare").hover_power).toMatchObject({ source: "law", ci95: null });
    expect(found(none, "weighted").power_ratio!.source).toBe("law");
  });

  test("the motors' outputs are read in the hold window, pulses and shares alike, channels that drive none left out", async () => {
    const withMotors = [...flights].map(([log, recording]): [string, Recording] => {
      const { columns: _, ...battery } = recording.signals.get("battery")!;
      const rows = battery.received.seconds;
      const share = heavy(log) ? 0.62 : 0.5;
      const pulse = (mean: number): Float64Array => rows.map((_, i) => 1000 + 1000 * (mean + (i % 2 ? 0.02 : -0.02)));
      const columns = { m0: pulse(share), m1: pulse(share + 0.1), m2: rows.map(() => 1000), m3: rows.map(() => 0) };
      const motors = { ...battery, signal: "motors", topic: "/motors", type: "actuator_outputs", columns } as const;
      return [log, { ...recording, signals: new Map(recording.signals).set("motors", motors) }];
    });
    const text = manifest.replace(/^( *)battery: .*$/m, "$&\n$1motors: { topic: /motors, clock: onboard }");
    const evaluation = await evaluateFlights(Object.fromEntries(withMotors), text);
    const { hover_output: mean, hover_output_highest: highest } = found(evaluation, "weighted");
    // as many readings of one sign as of the other, or one more: 0.02 / n
    expect(mean!.source).toBe("measured");
    expect(Math.abs(mean!.value - 0.67)).toBeLessThan(0.004);
    expect(Math.abs(highest!.value - 0.72)).toBeLessThan(0.004);
    expect(evaluation.runs[0]!.outputs!.channels).toBe(2);
  });

  test("the arm's effort is read over the cycles, from any column that is declared as such", async () => {
    const withEffort = [...flights].map(([log, recording]): [string, Recording] => {
      const battery = recording.signals.get("battery")!;
      // 3 in bare flights, 2 in others, of both signs
      const value = battery.received.seconds.map((_, i) => (heavy(log) ? 2 : 3) * (i % 2 ? 1 : -1));
      const effort = { ...battery, signal: "arm_effort", topic: "/arm/effort", columns: { value } } as const;
      return [log, { ...recording, signals: new Map(recording.signals).set("arm_effort", effort) }];
    });
    const declared = "$&\n$1arm_effort: { topic: /arm/effort, fields: { value: effort.0 }, clock: onboard }";
    const evaluation = await evaluateFlights(
      Object.fromEntries(withEffort),
      manifest.replace(/^( *)battery: .*$/m, declared),
    );
    expect(evaluation.runs.map(({ effort }) => effort)).toEqual([3, 3, 3, 2, 2, 2]);
    expect(found(evaluation, "weighted").arm_effort_ratio!.value).toBeCloseTo(2 / 3, 12);
  });
});
