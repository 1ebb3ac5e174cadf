import { spawnSync } from "node:child_process";
import { accessSync, constants, existsSync } from "node:fs";
import { delimiter, join } from "node:path";
import { describe } from "vitest";

/** What a suite may need beyond the npm packages. `.ci/run` installs or sets all of them. */
export type Need =
  | "rosbag"
  | "scipy"
  | "pandas"
  | "r"
  | "lme4"
  | "jsonlite"
  | "jsonschema"
  | "chromium"
  | "open-logs"
  | "bench"
  | "make"
  | "namespaces"
  | "slow";

/** Debian's python3, which carries Debian's packages; another python3 on the path may not. */
export const python = "/usr/bin/python3";

const probes: Record<Need, () => string | null> = {
  rosbag: () => (imports("rosbag") ? null : "Debian's python3-rosbag"),
  scipy: () => (imports("scipy.stats") ? null : "Debian's python3-scipy"),
  pandas: () => (imports("pandas") ? null : "Debian's python3-pandas"),
  r: () => (spawnSync("Rscript", ["--version"]).status === 0 ? null : "R (Debian's r-base-core)"),
  lme4: () =>
    hasPackages("lme4", "lmerTest") ? null : "R's lme4 and lmerTest (Debian's r-cran-lme4, r-cran-lmertest)",
  jsonlite: () => (hasPackages("jsonlite") ? null : "R's jsonlite (Debian's r-cran-jsonlite)"),
  jsonschema: () => (imports("jsonschema") ? null : "Debian's python3-jsonschema"),
  chromium: () => (foundInPath(chromiumNames) === null ? "Debian's chromium" : null),
  "open-logs": () =>
    existsSync(process.env.COUNTERPOISE_OPEN_LOGS ?? "") ? null : "COUNTERPOISE_OPEN_LOGS, the folder of open logs",
  bench: () =>
    existsSync(process.env.COUNTERPOISE_BENCH ?? "") ? null : "COUNTERPOISE_BENCH, the folder of baselines",
  make: () => (spawnSync("make", ["--version"]).status === 0 ? null : "Debian's make"),
  namespaces: () =>
    spawnSync("unshare", ["-rn", "true"]).status === 0 ? null : "unshare, and leave to make a namespace",
  slow: () => (process.env.COUNTERPOISE_SLOW === "1" ? null : "COUNTERPOISE_SLOW=1, the slow suites"),
};

function hasPackages(...names: string[]): boolean {
  const found = names.map((name) => `requireNamespace("${name}", quietly = TRUE)`).join(" && ");
  return spawnSync("Rscript", ["--vanilla", "-e", `quit(status = if (${found}) 0 else 1)`]).status === 0;
}

function imports(module: string): boolean {
  return spawnSync(python, ["-c", `import ${module}`]).status === 0;
}

const chromiumNames = ["chromium", "chromium-browser"] as const;

/** Where the first of these programs lies that is on the path; null where none is. */
function foundInPath(names: readonly string[]): string | null {
  const folders = (process.env.PATH ?? "").split(delimiter).filter((folder) => folder !== "");
  const places = names.flatMap((name) => folders.map((folder) => join(folder, name)));
  return places.find(canBeRun) ?? null;
}

function canBeRun(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

const known = new Map<Need, string | null>();

/** null where the need is met, else what is missing, in words. */
export function missing(need: Need): string | null {
  if (!known.has(need)) known.set(need, probes[need]());
  return known.get(need) ?? null;
}

/** A suite that runs where its needs are met; elsewhere it is left out and its name says for want of what. */
export function describeWith(needs: readonly Need[], name: string, body: () => void): void {
  const lacking = needs.map(missing).filter((reason) => reason !== null);
  if (lacking.length === 0) describe(name, body);
  else {
    process.stderr.write(`left out: ${name} (for want of ${lacking.join(", ")})\n`);
    describe.skip(`${name} (left out for want of ${lacking.join(", ")})`, body);
  }
}

/** The folder of open logs; only to be called inside `describeWith(["open-logs"], ...)`. */
export function openLogs(): string {
  const folder = process.env.COUNTERPOISE_OPEN_LOGS;
  if (!folder) throw new Error("COUNTERPOISE_OPEN_LOGS is not set");
  return folder;
}

/** The browser; only to be called inside `describeWith(["chromium"], ...)`. */
export function chromiumPath(): string {
  const path = foundInPath(chromiumNames);
  if (path === null) throw new Error(`found none of ${chromiumNames.join(" and ")} on the path`);
  return path;
}
