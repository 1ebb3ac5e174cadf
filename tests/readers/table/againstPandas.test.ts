import { existsSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { parquetWriteBuffer } from "hyparquet-writer";
import { describe, expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith, openLogs } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";

const folder = temporaryFolder();
let files = 0;

function file(bytes: string | Uint8Array): string {
  const path = join(folder, `log-${files++}`);
  writeFileSync(path, bytes);
  return path;
}

const columns = { t: "t", x: "x", y: "y", z: "z" };
const request = { signal: "vehicle_pose", topic: "", columns } as const;

describeWith(["open-logs", "pandas"], "public tables against pandas", () => {
  test("every cell of the columns read is the one that pandas reads with correct rounding", async () => {
    const base = join(openLogs(), "csv");
    const wanted = {
      t: "t",
      x: "px",
      y: "sp_ctrltarget_y",
      z: "est_stateEstimate_vz",
      qx: "qx",
      qy: "imu_gyro_y",
      qz: "pwr_pm_vbat",
      qw: "qw",
    };
    for (const name of ["a/B9_trefoil_slow_rep1.csv", "b/B9_trefoil_slow_rep3.csv"]) {
      const path = join(base, "two-controllers", name);
      expect(existsSync(path)).toBe(true);
      const expected = runPython<Record<string, number[]>>(
        `
import json, sys
import pandas
path, wanted = json.load(sys.stdin)
table = pandas.read_csv(path, float_precision="round_trip")
print(json.dumps({role: table[name].tolist() for role, name in wanted.items()}))
`,
        [path, wanted],
      );
      const { signals } = await readLog(
        [path],
        [{ signal: "vehicle_pose", topic: "", columns: wanted, units: { t: "s", position: "m" } }],
      );
      const pose = signals.get("vehicle_pose")!;
      for (const [role, column] of Object.entries(expected)) {
        if (role !== "t") expect([...pose.columns[role]!]).toEqual(column);
        // a double of 1.8e9 s resolves 0.24 us; ours keeps the digits
        else
          column.forEach((at, k) => {
            expect(Math.abs(Number(pose.stamped!.epoch) / 1e9 + pose.stamped!.seconds[k]! - at)).toBeLessThan(1e-6);
          });
      }
    }
  });
});

/** Whatever stands in the bytes: an answer or a refusal in bounded time, never a fault of the tool. */
async function survives(bytes: readonly (string | Uint8Array)[], seconds: number): Promise<void> {
  const started = performance.now();
  for (const one of bytes) {
    const path = file(one);
    for (const act of [() => readLog([path], [request]), () => surveyLog(path)])
      try {
        await act();
      } catch (error) {
        expect(error).toBeInstanceOf(LogError);
      }
  }
  expect(performance.now() - started).toBeLessThan(1000 * seconds);
}

describe("broken files", () => {
  const text = `t,x,y,z\n${Array.from({ length: 60 }, (_, k) => `${k / 100},${k / 7},1,2.5`).join("\n")}\n`;

  test("tables cut at every byte, and with bytes changed at random", async () => {
    const random = seededRandom(651);
    const damaged = Array.from({ length: 200 }, (_, k) => text.slice(0, Math.floor((k * text.length) / 200)));
    const flipped = Array.from({ length: 200 }, (_, k) => {
      const copy = Buffer.from(text);
      for (let n = 0; n <= k % 7; n++)
        copy[Math.floor(copy.length * random.uniform())] = Math.floor(256 * random.uniform());
      return copy;
    });
    await survives([...damaged, ...flipped], 30);
  }, 60_000);

  test("tables of one endless line, of quotes that never close, of nothing but separators, of nested brackets", async () => {
    await survives(
      [
        `t,x,y,z\n${"1,".repeat(200_000)}`,
        `t,x,y,z\n"0,1,2,3\n1,1,2,3\n2,1,2,3\n`,
        ",".repeat(100_000),
        "\n".repeat(100_000),
        `${"[".repeat(50_000)}`,
        `${"[a] ".repeat(2000)}1,2,3\n`.repeat(5),
        `${"t,".repeat(5000)}\n${"1,".repeat(5000)}\n`.repeat(3),
        `"${"x".repeat(100_000)}`,
        "\ufeff",
      ],
      30,
    );
  }, 60_000);

  test("Parquet cut anywhere and with damaged bytes", async () => {
    const n = 500;
    const column = (name: string, of: (k: number) => number) => ({
      name,
      data: Array.from({ length: n }, (_, k) => of(k)),
      type: "DOUBLE" as const,
    });
    const whole = Buffer.from(
      parquetWriteBuffer({
        columnData: [column("t", (k) => k / 100), column("x", (k) => k), column("y", () => 1), column("z", Math.sin)],
      }),
    );
    const { signals } = await readLog([file(whole)], [{ ...request, units: { t: "s", position: "m" } }]);
    expect([...signals.get("vehicle_pose")!.columns.z!]).toEqual(Array.from({ length: n }, (_, k) => Math.sin(k)));
    expect(signals.get("vehicle_pose")!.stamped!.seconds[7]).toBe(0.07);
    const random = seededRandom(652);
    const cut = Array.from({ length: 60 }, (_, k) => whole.subarray(0, Math.floor((k * whole.length) / 60)));
    const flipped = Array.from({ length: 150 }, (_, k) => {
      const copy = Buffer.from(whole);
      // the index at the end, which everything hangs on, more often than its share
      const from = k % 2 === 0 ? whole.length - 600 : 0;
      for (let m = 0; m <= k % 4; m++)
        copy[from + Math.floor((copy.length - from) * random.uniform())] = Math.floor(256 * random.uniform());
      return copy;
    });
    await survives([...cut, ...flipped], 40);
  }, 90_000);
});
