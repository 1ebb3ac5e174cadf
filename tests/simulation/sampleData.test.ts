import { readdirSync, readFileSync, statSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, test } from "vitest";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";
import { manifestFor } from "../../src/simulation/manifestFor.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { timelineOf } from "../../src/simulation/timeline.ts";
import { sampleFlights, samplePlan } from "../../tools/sampleCampaign.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

const folder = resolve(import.meta.dirname, "../../sample-data");
const flights = sampleFlights();
const manifest = readFileSync(join(folder, "campaign.yaml"), "utf8");

describe("the sample campaign", () => {
  test("is at most 30 MB, with every log that its manifest names", async () => {
    const campaign = await readCampaign(manifest, { file: "campaign.yaml", readText: () => "" });
    const named = [...campaign.staticCaptures, ...campaign.runs.flatMap((run) => Object.values(run.logs).flat())];
    expect(named).toHaveLength(22);
    expect(named.toSorted()).toEqual(readdirSync(folder).filter((name) => name.endsWith(".bag")));
    const bytes = readdirSync(folder).reduce((sum, name) => sum + statSync(join(folder, name)).size, 0);
    expect(bytes).toBeLessThan(30e6);
  });

  test("holds the manifest that its definition gives", () => {
    expect(manifest.slice(manifest.indexOf("title:"))).toBe(manifestFor(samplePlan(flights)));
  });

  test("flies 5 runs per trajectory and configuration, in two blocks that each hold equal numbers of both", () => {
    const count = (trajectory: string, configuration: string, block: string): number =>
      flights.filter(
        ({ run }) => run.trajectory === trajectory && run.configuration === configuration && run.block === block,
      ).length;
    for (const trajectory of ["orbit", "reach"])
      for (const configuration of ["bare", "weighted"]) {
        expect(count(trajectory, configuration, "day1")).toBe(3);
        expect(count(trajectory, configuration, "day2")).toBe(2);
      }
  });

  test("gives 35 to 40 s a run with at least 15 s of hold from 3 s on", () => {
    for (const { settings } of flights) {
      const { hold, end } = timelineOf(settings);
      expect(end).toBeGreaterThanOrEqual(35);
      expect(end).toBeLessThanOrEqual(40);
      expect(hold[1] - hold[0] - 3).toBeGreaterThanOrEqual(15);
    }
  });

  test("has one frozen pose of over a tenth of the cycles, one gap of under a tenth, one run filed wrongly", () => {
    const faults = flights.flatMap(({ settings }) =>
      settings.faults.map((fault) => ({ fault, timeline: timelineOf(settings) })),
    );
    expect(faults.map(({ fault }) => fault.kind)).toEqual(["frozen", "gap"]);
    for (const { fault, timeline } of faults) {
      if (fault.kind !== "frozen" && fault.kind !== "gap") throw new Error("another fault");
      expect(fault.at).toBeGreaterThan(timeline.cycleStart);
      expect(fault.at + fault.seconds).toBeLessThan(timeline.motionEnd);
      const part = fault.seconds / (timeline.motionEnd - timeline.cycleStart);
      if (fault.kind === "frozen") expect(part).toBeGreaterThan(0.15);
      else expect(part).toBeLessThan(0.05);
    }
    const shapes = { orbit: "circle", reach: "line" } as Record<string, string>;
    const wrong = flights.filter(({ run, settings }) => settings.trajectory.shape !== shapes[run.trajectory]);
    expect(wrong.map(({ run }) => run.log)).toEqual(["flight-07.bag"]);
  });
});

describeWith(["rosbag"], "the sample bags, read by the reference implementation", () => {
  test("hold the simulation's own numbers: every value and stamp of one flight", () => {
    const { run, settings, seed } = flights[6]!;
    const found = runPython<Record<string, [string, string, number[]][]>>(
      `import json,sys,rosbag
d=json.load(sys.stdin); out={}
def values(m):
  if hasattr(m,'pose'): p,q=m.pose.position,m.pose.orientation; return [p.x,p.y,p.z,q.x,q.y,q.z,q.w]
  if hasattr(m,'point'): return [m.point.x,m.point.y,m.point.z]
  if hasattr(m,'angular_velocity'): w=m.angular_velocity; return [w.x,w.y,w.z]
  return [m.voltage,m.current,m.percentage]
for t,m,s in rosbag.Bag(d).read_messages(): out.setdefault(t,[]).append((str(s.to_nsec()),str(m.header.stamp.to_nsec()),values(m)))
print(json.dumps(out))`,
      join(folder, run.log),
    );
    const { signals } = simulateFlight(settings, seed);
    expect(Object.keys(found).toSorted()).toEqual(signals.map(({ topic }) => topic).toSorted());
    for (const { topic, received, stamped, columns, type } of signals) {
      const messages = found[topic]!;
      expect(messages).toHaveLength(received.seconds.length);
      let worst = 0;
      let stampsOff = 0;
      messages.forEach(([receipt, stamp, values], i) => {
        const at = (column: typeof received): string =>
          String(column.epoch + BigInt(Math.round(column.seconds[i]! * 1e9)));
        if (receipt !== at(received) || stamp !== at(stamped!)) stampsOff++;
        Object.values(columns).forEach((column, k) => {
          worst = Math.max(worst, Math.abs(values[k]! - column[i]!));
        });
      });
      expect(stampsOff).toBe(0);
      // doubles come through as they are up to the last digit of the machine's sine and logarithm; the battery's fields are
      // 32-bit floats (6e-8 of 30 A)
      expect(worst).toBeLessThan(type === "sensor_msgs/BatteryState" ? 3e-6 : 1e-12);
    }
  });
});
