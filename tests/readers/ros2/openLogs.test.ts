import { readdirSync, readFileSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { parse } from "yaml";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith, missing, openLogs } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";

interface Facts {
  readonly topics: Readonly<Record<string, readonly [number, string, string, string]>>;
  readonly poses: Readonly<Record<string, readonly (readonly number[])[]>>;
}

function filesIn(folder: string, ending: string): string[] {
  return readdirSync(folder)
    .map((name) => join(folder, name))
    .flatMap((path) => (statSync(path).isDirectory() ? filesIn(path, ending) : path.endsWith(ending) ? [path] : []))
    .sort();
}

describeWith(["open-logs", "scipy"], "every SQLite file of a public ROS 2 bag", () => {
  // the body runs where the suite is left out, too
  const files = missing("open-logs") === null ? filesIn(join(openLogs(), "ros2"), ".db3") : [];
  let facts: Readonly<Record<string, Facts>>;

  beforeAll(() => {
    facts = runPython(readFileSync(join(import.meta.dirname, "facts.py"), "utf8"), files);
  });

  test("is among the open logs", () => {
    expect(files.length).toBeGreaterThan(15);
  });

  test.each(files)("%s: counts, first and last times of each topic are those of Python's sqlite3", async (path) => {
    const { topics, recovered, messages } = await surveyLog(path);
    const expected = facts[path]!.topics;
    expect(recovered).toBeNull();
    expect(topics.map(({ topic }) => topic)).toEqual(Object.keys(expected).sort());
    for (const { topic, type, messages: count, start, end } of topics)
      expect([count, String(start ?? "None"), String(end ?? "None"), type]).toEqual(expected[topic]);
    expect(messages).toBe(Object.values(expected).reduce((sum, [count]) => sum + count, 0));
  });

  test("poses are those of bytes decoded by hand, to the last bit", async () => {
    let checked = 0;
    for (const [path, { poses }] of Object.entries(facts))
      for (const [topic, rows] of Object.entries(poses)) {
        if (rows.length === 0) continue;
        const { signals } = await readLog([path], [{ signal: "vehicle_pose", topic }]);
        const { columns, stamped } = signals.get("vehicle_pose")!;
        rows.forEach((row, k) => {
          expect(["x", "y", "z", "qx", "qy", "qz", "qw"].map((name) => columns[name]![k])).toEqual(row.slice(0, 7));
          if (stamped !== null && (row[7] !== 0 || row[8] !== 0))
            expect(stamped.epoch + BigInt(Math.round(stamped.seconds[k]! * 1e9))).toBe(
              BigInt(row[7]!) * 1_000_000_000n + BigInt(row[8]!),
            );
        });
        checked += rows.length;
      }
    expect(checked).toBeGreaterThan(5);
  });
});

describeWith(["open-logs"], "every folder of a public ROS 2 bag", () => {
  const folders = missing("open-logs") === null ? filesIn(join(openLogs(), "ros2"), "metadata.yaml").map(dirname) : [];

  test.each(folders)("%s: has the messages that its metadata.yaml tells of", async (folder) => {
    const { rosbag2_bagfile_information: info } = parse(readFileSync(join(folder, "metadata.yaml"), "utf8")) as {
      rosbag2_bagfile_information: {
        message_count: number;
        topics_with_message_count: { message_count: number; topic_metadata: { name: string } }[];
      };
    };
    const { topics, messages, recovered, format } = await surveyLog(folder);
    expect(format).toBe("ROS 2 bag");
    const counts = new Map(topics.map(({ topic, messages: count }) => [topic, count]));
    const told = info.topics_with_message_count;
    for (const { message_count, topic_metadata } of told)
      expect(counts.get(topic_metadata.name) ?? 0).toBe(message_count);
    if (told.length > 0) expect(messages).toBe(info.message_count);
    expect(recovered).toBeNull();
  });

  test("the same messages as SQLite and as MCAP give the same columns", async () => {
    const folder = join(openLogs(), "ros2", "all-pose-types", "tests", "test_bags");
    const bags = [join(folder, "test_bag_sqlite3"), join(folder, "test_bag_mcap")] as const;
    const { topics } = await surveyLog(bags[0]);
    let compared = 0;
    for (const { topic, couldBe, children } of topics) {
      for (const signal of couldBe) {
        const child = children[0] === undefined ? {} : { child: children[0] };
        const [a, b] = await Promise.all(bags.map((bag) => readLog([bag], [{ signal, topic, ...child }])));
        const [one, other] = [a!.signals.get(signal), b!.signals.get(signal)];
        expect(one?.columns).toEqual(other?.columns);
        compared++;
      }
    }
    expect(compared).toBeGreaterThan(20);
  });

  test("a split bag without its metadata is read in the order of its files, and that is reported", async () => {
    const folder = join(
      openLogs(),
      "ros2/storage-tests/rosbag2_py/test/resources/sqlite3/reindex_test_bags/multiple_files",
    );
    const survey = await surveyLog(folder);
    expect(survey.recovered).toBe("there is no metadata.yaml: the files are read in the order of their names");
    const parts = filesIn(folder, ".db3");
    const { start, end } = await readLog(parts, []);
    expect([survey.start, survey.end]).toEqual([start, end]);
  });
});
