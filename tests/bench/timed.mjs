import { spawnSync } from "node:child_process";

export const python = "/usr/bin/python3";

/**
 * Runs a command in a child of its own and measures it.
 *
 * @returns wall seconds, processor seconds (user and system, of all threads) and peak memory in MiB
 */
export function timed(command) {
  const code = `
import json, resource, subprocess, sys, time
start = time.perf_counter()
done = subprocess.run(json.loads(sys.argv[1]), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
seconds = time.perf_counter() - start
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(json.dumps([seconds, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, done.returncode, done.stderr.decode()[-400:]]))`;
  const { stdout, stderr, status } = spawnSync(python, ["-c", code, JSON.stringify(command)], { encoding: "utf8" });
  if (status !== 0) throw new Error(stderr);
  const [seconds, processor, mebibytes, exit, complaint] = JSON.parse(stdout);
  if (exit !== 0) throw new Error(`${command.join(" ")} ended with ${exit}: ${complaint}`);
  return { seconds, processor, mebibytes };
}

export const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
