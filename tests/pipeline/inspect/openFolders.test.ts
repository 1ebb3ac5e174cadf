import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { expect, test } from "vitest";
import type { Campaign } from "../../../src/contract/campaign.ts";
import { readCampaign } from "../../../src/contract/manifest/readCampaign.ts";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";
import { describeWith, openLogs } from "../../support/available.ts";

const golden = (name: string): string => readFileSync(resolve(import.meta.dirname, "../../golden", name), "utf8");
const read = (text: string): Promise<Campaign> =>
  readCampaign(text, { file: "campaign.yaml", readText: () => Promise.reject(new Error("no table")) });
const drafted = async (...path: string[]) => {
  const { manifest, summary } = await inspectFolder(join(openLogs(), ...path));
  return { manifest, ...summary };
};
const answered = (manifest: string, answers: Readonly<Record<string, string>>): Promise<Campaign> =>
  read(manifest.replace(/<([A-Z_]+)>/g, (place, name: string) => answers[name] ?? place));

// What is true of these folders stands in the SOURCE.md beside them, and in the manifests that people wrote for them (tests/golden).
describeWith(["open-logs"], "folders of open logs", () => {
  test("two controllers: three answers, all flights, and the columns of the manifest written by hand", async () => {
    const { manifest, asks } = await drafted("csv", "two-controllers");
    expect(asks).toEqual(["<BASELINE>", "<CANDIDATE>", "<LENGTH>"]);
    const [own, byHand] = [
      await answered(manifest, { BASELINE: "a", CANDIDATE: "b", LENGTH: "10 mm" }),
      await read(golden("two-controllers.yaml")),
    ];
    expect(own.signals.vehicle_pose!.columns).toEqual(byHand.signals.vehicle_pose!.columns);
    expect(own.signals.vehicle_setpoint!.columns).toMatchObject(byHand.signals.vehicle_setpoint!.columns!);
    expect(own.runs.map(({ configuration }) => configuration).sort()).toEqual(
      byHand.runs.map(({ configuration }) => configuration).sort(),
    );
    expect(own.configurations).toMatchObject({ a: { addedMass: null }, b: { addedMass: null } });
    // one table of one time column, in which so slow a flight turns too little for the gyro to know better
    expect(own.clocks).toEqual(byHand.clocks);
  });

  test("one flight in two logs: three answers, paired, on two clocks, with z down as its take-off shows", async () => {
    const { manifest, asks } = await drafted("csv", "two-files");
    expect(asks).toEqual(["<LENGTH>", "<RUNS>", "<WORLD>"]);
    const [own, byHand] = [
      await answered(manifest, { LENGTH: "10 mm", RUNS: "[]", WORLD: "ned" }),
      await read(golden("two-files.yaml")),
    ];
    for (const name of ["vehicle_pose", "vehicle_setpoint", "vehicle_estimate"] as const) {
      const { log, clock, axes } = byHand.signals[name]!;
      expect(own.signals[name], name).toMatchObject({ log, clock, axes });
    }
    expect(own.runs.map(({ logs }) => logs)).toEqual(byHand.runs.map(({ logs }) => logs));
  });

  test("a weight in front: configurations by the names, and the body that nothing tells apart is asked for", async () => {
    const { asks, configurations, trajectories } = await drafted("ros1", "frontal-weight");
    expect(asks).toEqual(["<LENGTH>", "<TOPIC>", "<TIME>"]);
    expect(configurations).toEqual(["W0", "rw0.05"]);
    // each flight is sent from place to place by hand and rests nowhere for 8 s: no hold could be judged
    expect(trajectories.map(({ shape }) => shape?.shape)).toEqual(["logged", "logged"]);
  });

  test("an arm's flight by the autopilot's log: the capture, not what the vehicle reckons, and which world is asked once", async () => {
    const { asks, signals, runs, left } = await drafted("ulog", "arm-flight");
    expect(asks).toEqual(["<LENGTH>", "<RUNS>", "<WORLD>"]);
    const origins = Object.fromEntries(signals.map(({ signal, origin }) => [signal, origin]));
    expect(origins).toMatchObject({
      vehicle_pose: "topic: vehicle_visual_odometry",
      vehicle_estimate: "topic: vehicle_local_position",
      vehicle_rate: "topic: sensor_combined",
    });
    expect([runs, left.map(({ path }) => path)]).toEqual([1, ["log_283_2025-5-21-11-07-08.ulg"]]);
  });

  test("two autopilots' logs are two flights, and never the capture and the onboard log of one", async () => {
    const { manifest, subjects } = await drafted("ulog", "parser-samples");
    expect(manifest).not.toContain("logs: {");
    expect(subjects).toEqual([]);
  });

  test("what nothing can be judged by says so first, and a point file is asked for markers", async () => {
    for (const path of [["c3d"], ["ros2", "all-pose-types"], ["ros1", "odometry-lz4"]]) {
      const { subjects, lacking } = await drafted(...path);
      expect(subjects, path.join("/")).toEqual([]);
      expect(lacking.join(" "), path.join("/")).toContain("no setpoint of the vehicle");
    }
    const { manifest } = await drafted("c3d");
    expect(manifest).toContain("vehicle_pose: { markers: <MARKERS> }");
    // of one capture written with whole numbers and with real ones
    expect(manifest).toMatch(/the same messages as .*pc_float\.c3d: log: .*pc_integer\.c3d/);
  });
});
