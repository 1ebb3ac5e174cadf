import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
const program = `
database = create("orphans.db3")
add_topic(database, 3)
add_topic(database, 8, "/mocap/tool")
for topic in range(12):
    record(database, topic, topic + 5, topic)
database.execute("delete from topics where id = 8")
first, last = database.execute("select min(timestamp), max(timestamp) from messages where topic_id in (select id from topics)").fetchone()
count = database.execute("select count(*) from messages where topic_id not in (select id from topics)").fetchone()[0]
database.close()
print(json.dumps([count, str(first), str(last)]))
`;

describeWith(["scipy"], "messages of a topic that is in no table of topics", () => {
  test("are counted, and do not lengthen the log", async () => {
    // counted by Python's sqlite3
    const bag = readFileSync(join(import.meta.dirname, "bag.py"), "utf8");
    const [count, first, last] = runPython<[number, string, string]>(`${bag}\n${program}`, folder);
    const { recovered, messages, start, end } = await surveyLog(join(folder, "orphans.db3"));
    expect(count).toBe(55);
    expect(recovered).toBe(
      "55 message(s) belong to no row of the table of topics (topic_id 0, 1, 2, 4, 5 ...): left out",
    );
    expect([messages, String(start), String(end)]).toEqual([5, first, last]);
  });
});
