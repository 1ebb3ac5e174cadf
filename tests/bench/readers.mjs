import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { rolldown } from "rolldown";

const root = resolve(import.meta.dirname, "../..");
const python = "/usr/bin/python3";

/**
 * Readers against each other and against what a lab would use: ratios of the same contents in the same run. Needs Debian's
 * python3-rosbag and python3-pandas; the ULog is one of the open logs.
 */
export async function readerRatios() {
  const work = mkdtempSync(join(tmpdir(), "counterpoise-readers-"));
  // beside the modules that stay outside of it
  const built = join(root, "node_modules/.cache/counterpoise-bench");
  try {
    run(python, [join(import.meta.dirname, "reader_files.py"), work]);
    const bundle = await rolldown({
      input: join(import.meta.dirname, "readerCases.ts"),
      cwd: root,
      platform: "node",
      external: [/^@foxglove\/(wasm|ulog)/],
      checks: { eval: false },
    });
    await bundle.write({ dir: built, format: "esm" });
    await bundle.close();
    const logs = process.env.COUNTERPOISE_OPEN_LOGS ?? "";
    const ulog = join(logs, "ulog/parser-samples/sample.ulg");
    const ours = JSON.parse(
      run(process.execPath, [join(built, "readerCases.js"), "--readers", work, existsSync(ulog) ? ulog : ""]),
    );
    const peer = JSON.parse(run(python, [join(import.meta.dirname, "reader_peer.py"), join(work, "million.csv")]));
    const line = (name, seconds, ratio, wanted) =>
      console.log(
        `${name.padEnd(24)} ${(1e3 * seconds).toFixed(1).padStart(8)} ms  ${ratio.padEnd(34)} wanted: ${wanted}`,
      );
    line("read rosbag", ours.rosbag, "", "(108 000 poses)");
    line("read mcap", ours.mcap, `${(ours.mcap / ours.rosbag).toFixed(2)} x the ROS 1 bag`, "at most 1.5 x");
    line("read sqlite", ours.sqlite, `${(ours.sqlite / ours.rosbag).toFixed(2)} x the ROS 1 bag`, "at most 4 x");
    line("read table", ours.table, `${(peer.genfromtxt / ours.table).toFixed(1)} x numpy.genfromtxt`, "at least 3 x");
    line("read table", ours.table, `${(peer.pandas / ours.table).toFixed(2)} x pandas.read_csv`, "at least 1 x");
    if (ours.ulog !== undefined)
      line(
        "read ulog",
        ours.ulog,
        `${(ours.ulogLibrary / ours.ulog).toFixed(1)} x a parse of all topics`,
        "at least 3 x",
      );
  } finally {
    rmSync(work, { recursive: true, force: true });
    rmSync(built, { recursive: true, force: true });
  }
}

function run(program, args) {
  const { stdout, stderr, status } = spawnSync(program, args, { encoding: "utf8", maxBuffer: 1 << 26 });
  if (status !== 0) throw new Error(stderr.slice(-800));
  return stdout;
}
