import type * as z from "zod";
import type {
  BenchDeclaration,
  BenchRunDeclaration,
  BenchSensor,
  BenchSource,
  FiledSpeed,
  SensorFilter,
} from "../benchDeclaration.ts";
import type { Campaign, Trajectory } from "../campaign.ts";
import { benchField, benchRun, type source } from "./benchFields.ts";
import { Complaint } from "./problems.ts";
import { isUnit, parseQuantity } from "./quantity.ts";
import { readTransform } from "./readFrames.ts";
import type { Reading } from "./reading.ts";
import { readTrajectories } from "./readTrajectories.ts";
import { logSchema } from "./runSchema.ts";
import { isList, isMapping, type Path, type TextMapping, type TextTree } from "./textTree.ts";

/** A bench whose block is there without flights is a manifest of its own. */
export function isBenchOnly(root: TextMapping): boolean {
  return isMapping(root.bench) && root.runs === undefined && root.signals === undefined;
}

/**
 * The block `bench`, in SI.
 *
 * @param runs  the table that `bench: runs` names, with its places; null where the runs stand in the manifest
 * @returns null where there is none, or where it is at fault (noted)
 */
export function readBench(
  reading: Reading,
  root: TextMapping,
  runs: { readonly reading: Reading; readonly tree: TextTree } | null,
  trajectories: Campaign["trajectories"],
): BenchDeclaration | null {
  const tree = root.bench;
  if (tree === undefined || tree === null) return null;
  const before = reading.problems.count;
  // runs and trajectories are read one by one, each with its own complaints
  const { trajectories: onBench, ...block } = isMapping(tree) ? tree : {};
  const found = reading.read(benchField, isMapping(tree) ? { ...block, runs: "runs.csv" } : tree, ["bench"]);
  if (found === null || !isMapping(tree)) return null;
  const place = readTransform(reading, isMapping(tree.sensor) ? tree.sensor.at : undefined, ["bench", "sensor", "at"]);
  const signals = {
    wrench: sourceOf(
      reading,
      found.signals.wrench,
      ["bench", "signals", "wrench"],
      ["fx", "fy", "fz", "mx", "my", "mz"],
    ),
    arm:
      found.signals.arm === null
        ? null
        : sourceOf(reading, found.signals.arm, ["bench", "signals", "arm"], ["x", "y", "z"]),
    keyPhase:
      found.signals.key_phase === null
        ? null
        : sourceOf(reading, found.signals.key_phase, ["bench", "signals", "key_phase"], ["value"]),
  };
  const sameMotion = found.same_motion !== null;
  if (signals.arm !== null && signals.arm.clock !== signals.wrench.clock && !sameMotion)
    reading.complain(
      ["bench", "signals", "arm", "clock"],
      `found the clock ${JSON.stringify(signals.arm.clock)} beside ${JSON.stringify(signals.wrench.clock)} of the wrench, expected a way to join them`,
      "add same_motion: [wrench, arm] to the bench",
    );
  const counts = countsOf(reading, found.sensor.counts);
  const own = benchTrajectories(reading, root, onBench);
  const names = {
    configurations: keysOf(root, "configurations"),
    trajectories: [...keysOf(root, "trajectories"), ...Object.keys(own)],
  };
  for (const [k, each] of (found.tap ?? []).entries())
    if (!names.configurations.includes(each.configuration))
      reading.unknownName(["bench", "tap", k, "configuration"], each.configuration, {
        what: "one of `configurations`",
        known: names.configurations,
      });
  const declared =
    runs === null
      ? { reading, tree: tree.runs ?? null, path: ["bench", "runs"] as Path }
      : { ...runs, path: ["runs"] as Path };
  const ran = readRuns(declared, names, { ...trajectories, ...own });
  if (reading.problems.count > before || place === null) return null;
  const { full_scale, cross_talk, filter: low, calibrated, sign } = found.sensor;
  const tare = found.tare ?? { before: 5, after: 5 };
  return {
    sensor: {
      at: place,
      sign,
      fullScale: full_scale === null ? null : { force: full_scale.force, moment: full_scale.moment },
      crossTalk: cross_talk,
      counts,
      filter: low as SensorFilter | "none" | null,
      calibrated,
    },
    point: found.point as BenchDeclaration["point"],
    signals,
    tare,
    sameMotion,
    knownMass: found.known_mass ?? [],
    tap: found.tap ?? [],
    runs: ran,
  };
}

/** Trajectories of the bench alone. */
function benchTrajectories(reading: Reading, root: TextMapping, tree: TextTree | undefined): Campaign["trajectories"] {
  if (tree === undefined || tree === null) return {};
  const own = readTrajectories(reading, { trajectories: tree }, ["bench"]);
  const flown = keysOf(root, "trajectories");
  for (const name of Object.keys(own).filter((each) => flown.includes(each)))
    reading.complain(
      ["bench", "trajectories", name],
      `found ${name} here and under the manifest's own trajectories, expected it once`,
      "leave it out here: the bench runs those of the flights too",
    );
  return own;
}

function sourceOf(
  reading: Reading,
  found: z.output<typeof source>,
  path: Path,
  needed: readonly string[],
): BenchSource {
  const named = [found.topic, found.columns].filter((each) => each !== null).length;
  if (named !== 1)
    reading.complain(
      path,
      `found ${named === 0 ? "neither topic nor columns" : "both topic and columns"}, expected one of them`,
    );
  const given = (found.columns ?? found.fields) as Record<string, string> | null;
  if (given !== null) {
    const lacking = [...(found.columns === null ? [] : ["t"]), ...needed].filter((name) => given[name] === undefined);
    if (lacking.length > 0)
      reading.complain(
        [...path, found.columns === null ? "fields" : "columns"],
        `found no column for ${lacking.join(", ")}, expected at least ${needed.join(", ")}`,
        `add ${lacking[0]}: and the name it has in the log`,
      );
  }
  for (const [key, unit] of Object.entries((found.units ?? {}) as Record<string, string>))
    if (
      !["t", "status", "sequence"].includes(key) &&
      !isUnit(String(unit).replace(/[-·*]/g, " ")) &&
      !/^counts?$/i.test(unit)
    )
      reading.complain(
        [...path, "units", key],
        `found ${JSON.stringify(unit)}, an unknown unit, expected one such as N, lbf, N m or N mm`,
      );
  return {
    topic: found.topic,
    log: found.log,
    columns: found.columns as Record<string, string> | null,
    fields: found.fields as Record<string, string> | null,
    units: found.units as Record<string, string> | null,
    clock: found.clock,
  };
}

function countsOf(
  reading: Reading,
  found: { force: number; moment: number; of: { force: string; moment: string } } | null,
): BenchSensor["counts"] {
  if (found === null) return null;
  const path = ["bench", "sensor", "counts"];
  const per = (kind: "force" | "moment"): number => {
    try {
      return found[kind] / parseQuantity(`1 ${found.of[kind]}`, kind);
    } catch (error) {
      if (!(error instanceof Complaint)) throw error;
      reading.complain([...path, "of", kind], error.message, error.hint);
      return Number.NaN;
    }
  };
  if (!(found.force > 0 && found.moment > 0))
    reading.complain(path, "found counts of 0 or below, expected how many make a unit");
  return { force: per("force"), moment: per("moment") };
}

const keysOf = (root: TextMapping, key: string): string[] => (isMapping(root[key]) ? Object.keys(root[key]) : []);

function readRuns(
  { reading, tree, path }: { readonly reading: Reading; readonly tree: TextTree; readonly path: Path },
  names: { readonly configurations: readonly string[]; readonly trajectories: readonly string[] },
  trajectories: Campaign["trajectories"],
): BenchRunDeclaration[] {
  if (!isList(tree) || tree.length === 0) {
    reading.complain(
      path,
      "found no runs, expected at least one",
      "each has at least log, configuration and trajectory",
    );
    return [];
  }
  const taken = new Set<string>();
  return tree.flatMap((entry, index): BenchRunDeclaration[] => {
    const at = [...path, index];
    const found = reading.read(benchRun, entry ?? undefined, at);
    if (found === null || !isMapping(entry)) return [];
    for (const [key, what] of [
      ["configuration", "configurations"],
      ["trajectory", "trajectories"],
    ] as const)
      if (!names[what].includes(found[key]))
        reading.unknownName([...at, key], found[key], { what: `one of \`${what}\``, known: names[what] });
    const logs = logsOf(reading, found, entry, at);
    if (logs === null) return [];
    const file = (Object.values(logs)[0]?.[0] ?? "run").split(/[/\\]/).at(-1)!;
    const plain = found.id ?? file.replace(/(?<=.)\.[^.]*$/, "");
    let id = plain;
    for (let k = 2; taken.has(id); k++) id = `${plain}-${k}`;
    taken.add(id);
    return [
      {
        id,
        logs,
        configuration: found.configuration,
        trajectory: found.trajectory,
        speed: filedSpeed(found.speed, trajectories[found.trajectory]),
        cycles: found.cycles,
        refit: found.refit,
        temperature: found.temperature,
        exclude: found.exclude,
      },
    ];
  });
}

function logsOf(
  reading: Reading,
  found: z.output<typeof benchRun>,
  entry: TextMapping,
  at: Path,
): Record<string, readonly string[]> | null {
  const several = isMapping(entry.logs) ? Object.entries(entry.logs) : [];
  if ((found.log === null) === (several.length === 0)) {
    reading.complain(
      at,
      `found ${found.log === null ? "neither log nor logs" : "both log and logs"}, expected one of them`,
    );
    return null;
  }
  if (found.log !== null) return { "": found.log };
  const logs: Record<string, readonly string[]> = {};
  for (const [name, each] of several) {
    const parts = reading.read(logSchema, each, [...at, "logs", name]);
    if (parts === null) return null;
    logs[name] = parts;
  }
  return logs;
}

/** As a rate of cycles: once round a circle is 2 pi R, once to and fro along a line twice the stroke. */
function filedSpeed(
  filed: { readonly text: string; readonly kind: "rate" | "time" | "speed"; readonly value: number } | null,
  trajectory: Trajectory | undefined,
): FiledSpeed | null {
  const length =
    trajectory?.shape === "circle"
      ? 2 * Math.PI * trajectory.radius
      : trajectory?.shape === "line"
        ? 2 * trajectory.stroke
        : null;
  if (filed === null) {
    const own = trajectory === undefined || trajectory.shape === "hold" ? null : trajectory.period;
    return own === null ? null : { rate: 1 / own, label: `${Number(own.toPrecision(4))} s` };
  }
  if (filed.kind === "rate") return { rate: filed.value, label: filed.text };
  if (filed.kind === "time") return { rate: 1 / filed.value, label: filed.text };
  return length === null ? null : { rate: filed.value / length, label: filed.text };
}
