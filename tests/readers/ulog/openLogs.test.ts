import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { ULog } from "@foxglove/ulog";
import { FileReader } from "@foxglove/ulog/node";
import { expect, test } from "vitest";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith, missing, openLogs } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";

function logsIn(folder: string): string[] {
  const base = join(openLogs(), "ulog", folder);
  return readdirSync(base)
    .filter((name) => name.endsWith(".ulg"))
    .map((name) => join(base, name));
}

interface Decoded {
  readonly rows: Readonly<Record<string, readonly (readonly (number | null)[])[]>>;
  readonly parameters: Readonly<Record<string, number>>;
  readonly dropouts: readonly number[];
  readonly counts: Readonly<Record<string, number>>;
}

describeWith(["open-logs", "scipy"], "every public ULog", () => {
  // the body runs where the suite is left out, too
  const paths = missing("open-logs") === null ? ["parser-samples", "arm-flight"].flatMap(logsIn) : [];

  test("is among the open logs", () => {
    expect(paths.length).toBeGreaterThan(6);
  });

  test.each(paths)("%s: has the counts of each topic that an independent library finds", async (path) => {
    const reader = new FileReader(path);
    const library = new ULog(reader);
    await library.open();
    const counts = new Map<string, number>();
    for (const [id, { name, multiId }] of library.subscriptions) {
      const topic = multiId === 0 ? name : `${name}/${multiId}`;
      const count = library.dataMessageCounts()?.get(id) ?? 0;
      counts.set(topic, (counts.get(topic) ?? 0) + count);
    }
    await reader.close();
    const { topics, messages } = await surveyLog(path);
    expect(new Map(topics.map(({ topic, messages: count }) => [topic, count]))).toEqual(counts);
    expect(messages).toBe([...counts.values()].reduce((a, b) => a + b, 0));
  });

  test.each(["sample", "sample_appended", "sample_appended_multiple"])(
    "the expected text beside %s: points of each topic, start, dropouts",
    async (name) => {
      const base = join(openLogs(), "ulog", "parser-samples");
      const path = join(base, `${name}.ulg`);
      // not every log that the folder lists was kept
      if (!paths.includes(path)) return;
      const text = readFileSync(join(base, `${name}_info.txt`), "utf8");
      const { topics, start, recovered, dropouts } = await surveyLog(path);
      const told = [...text.matchAll(/^ (\w+) \((\d+), \d+\)\s+(\d+)\s+\d+$/gm)].map(([, topic, instance, count]) => [
        instance === "0" ? topic : `${topic}/${instance}`,
        Number(count),
      ]);
      expect(told.length).toBeGreaterThan(10);
      const found = new Map(topics.map(({ topic, messages }) => [topic, messages]));
      for (const [topic, count] of told) expect([topic, found.get(String(topic))]).toEqual([topic, count]);
      const [, hours, minutes, seconds] = /start time: (\d+):(\d+):(\d+)/.exec(text)!;
      expect(Number(start! / 1_000_000_000n)).toBe(3600 * Number(hours) + 60 * Number(minutes) + Number(seconds));
      expect(recovered).toBeNull();
      expect(dropouts?.count ?? 0).toBe(Number(/count: (\d+)/.exec(text)?.[1] ?? 0));
    },
  );

  test("values, masks, parameters and dropouts are those of bytes decoded by hand", async () => {
    const pose: [string, number][] = [
      ...[0, 1, 2].map((k): [string, number] => ["position", k]),
      ...[1, 2, 3, 0].map((k): [string, number] => ["q", k]),
    ];
    const asked = [
      {
        path: join(openLogs(), "ulog/arm-flight/20250612_waypoint3_px4.ulg"),
        topics: {
          vehicle_visual_odometry: [["timestamp", 0], ["timestamp_sample", 0], ...pose],
          trajectory_setpoint: [["timestamp", 0], ...pose.slice(0, 3), ["yaw", 0]],
          vehicle_angular_velocity: [
            ["timestamp", 0],
            ["xyz", 0],
            ["xyz", 1],
            ["xyz", 2],
          ],
        },
      },
      {
        path: join(openLogs(), "ulog/parser-samples/sample.ulg"),
        topics: {
          vehicle_local_position: [
            ["timestamp", 0],
            ["x", 0],
            ["y", 0],
            ["z", 0],
          ],
          sensor_combined: [
            ["timestamp", 0],
            ["gyro_rad", 0],
            ["gyro_rad", 1],
            ["gyro_rad", 2],
          ],
        },
      },
    ] as const;
    const [flight, sample] = runPython<[Decoded, Decoded]>(
      readFileSync(join(import.meta.dirname, "decode.py"), "utf8"),
      asked,
    );
    const first = await readLog(
      [asked[0].path],
      [
        { signal: "vehicle_pose", topic: "vehicle_visual_odometry" },
        { signal: "vehicle_setpoint", topic: "trajectory_setpoint" },
        { signal: "vehicle_rate", topic: "vehicle_angular_velocity" },
      ],
    );
    const second = await readLog(
      [asked[1].path],
      [
        { signal: "vehicle_estimate", topic: "vehicle_local_position" },
        { signal: "vehicle_rate", topic: "/sensor_combined" },
      ],
    );
    const column = (values: Float64Array) => Array.from(values, (value) => (Number.isNaN(value) ? null : value));
    const compare = (
      recording: typeof first,
      signal: Parameters<typeof first.signals.get>[0],
      rows: readonly (readonly (number | null)[])[],
      names: readonly string[],
      skip: number,
    ): void => {
      const { columns, stamped } = recording.signals.get(signal)!;
      names.forEach((name, k) => {
        expect(column(columns[name]!)).toEqual(rows.map((row) => row[skip + k]));
      });
      // the stamp: of the sample where the format has one, else of the message; whole microseconds
      rows.forEach((row, k) => {
        expect(Number(stamped!.epoch / 1000n) + Math.round(stamped!.seconds[k]! * 1e6)).toBe(row[skip - 1]);
      });
    };
    const attitude = ["x", "y", "z", "qx", "qy", "qz", "qw"];
    compare(first, "vehicle_pose", flight.rows.vehicle_visual_odometry!, attitude, 2);
    compare(first, "vehicle_setpoint", flight.rows.trajectory_setpoint!, ["x", "y", "z", "yaw"], 1);
    compare(second, "vehicle_estimate", sample.rows.vehicle_local_position!, ["x", "y", "z"], 1);
    compare(second, "vehicle_rate", sample.rows.sensor_combined!, ["wx", "wy", "wz"], 1);
    const setpoint = first.signals.get("vehicle_setpoint")!;
    const masked = flight.rows.trajectory_setpoint!.filter((row) => row[1] === null).length;
    expect(masked).toBeGreaterThan(0);
    expect([...setpoint.given.x!].filter((given) => given === 0)).toHaveLength(masked);
    for (const [recording, decoded] of [
      [first, flight],
      [second, sample],
    ] as const) {
      expect(Object.fromEntries(recording.parameters!)).toEqual(decoded.parameters);
      expect(recording.dropouts?.count ?? 0).toBe(decoded.dropouts.length);
      expect(recording.dropouts?.seconds ?? 0).toBeCloseTo(decoded.dropouts.reduce((a, b) => a + b, 0) / 1000, 9);
    }
  });
});
