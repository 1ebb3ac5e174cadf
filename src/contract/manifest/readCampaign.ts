import type { BenchDeclaration } from "../benchDeclaration.ts";
import type { Campaign, Frames } from "../campaign.ts";
import { benchRunShape } from "./benchFields.ts";
import { checkRuns } from "./checkRuns.ts";
import { readCsvTree } from "./csvTree.ts";
import { FiledRuns } from "./filedRuns.ts";
import { capturesField, definitionsField, manifestShape } from "./manifestShape.ts";
import { isPlaceholder } from "./openQuestions.ts";
import { ProblemList } from "./problems.ts";
import { readAccept, readThresholds } from "./readAccept.ts";
import { isBenchOnly, readBench } from "./readBench.ts";
import { readClocks } from "./readClocks.ts";
import { readConfigurations, readParts, readVehicle } from "./readConfigurations.ts";
import { readCosts } from "./readCosts.ts";
import { readFamily, readLooks } from "./readFamily.ts";
import { checkOnboardBlocks, readFrames } from "./readFrames.ts";
import { readHeader } from "./readHeader.ts";
import { Reading } from "./reading.ts";
import { readRuns } from "./readRuns.ts";
import { readSignals } from "./readSignals.ts";
import { readTrajectories } from "./readTrajectories.ts";
import { runShape } from "./runSchema.ts";
import { isList, isMapping, type Path, type TextMapping, type TextTree } from "./textTree.ts";
import { type PlacedTree, readYamlTree } from "./yamlTree.ts";

/**
 * Notes every place of a draft that was not filled in. Where a title may be any text, `<TITLE>` would pass for one.
 *
 * @returns whether there was any
 */
function findPlaceholders(reading: Reading, tree: TextTree, path: Path = []): boolean {
  if (typeof tree === "string" && isPlaceholder(tree)) {
    reading.complain(path, `found the placeholder ${tree.trim()}, expected what belongs there`, "fill it in");
    return true;
  }
  const entries: readonly (readonly [string | number, TextTree])[] = isList(tree)
    ? tree.map((entry, index) => [index, entry] as const)
    : isMapping(tree)
      ? Object.entries(tree)
      : [];
  let found = false;
  for (const [step, entry] of entries) {
    if (typeof step === "string" && isPlaceholder(step)) {
      reading.complainOfKey([...path, step], `found the placeholder ${step}, expected a name`, "fill it in");
      found = true;
    }
    if (findPlaceholders(reading, entry, [...path, step])) found = true;
  }
  return found;
}

const keys = Object.keys(manifestShape);

/**
 * Reads a manifest: YAML in, a campaign in SI with every default filled in out.
 *
 * All problems are reported at once, each with its place, what was found, what was expected and what to do.
 *
 * @param text              the manifest; a byte order mark and CRLF line ends are accepted
 * @param options.file      its name as the user wrote it, for places in messages
 * @param options.open      goes on past places that a draft left open, to find what else is wrong; default: they alone are reported
 * @param options.readText  reads another text named by the manifest (`runs: runs.csv`); gets the path as written there,
 *   relative to the manifest
 * @throws ManifestProblemsError  code `manifest-invalid` where values are wrong; `manifest-too-large`, `manifest-not-text`,
 *   `yaml-syntax`, `yaml-alias`, `yaml-depth`, `csv-syntax` where the text cannot be taken apart; `runs-unreadable`
 *   where `readText` fails
 */
export async function readCampaign(
  text: string,
  options: { file: string; readText: (path: string) => Promise<string> | string; open?: boolean },
): Promise<Campaign> {
  const { root, places } = readYamlTree(text, options.file);
  const problems = new ProblemList();
  const reading = new Reading(places, problems);
  const tree = reading.mapping(root, [], `a mapping with the keys ${keys.join(", ")}`);
  problems.throwIfAny();
  // what a half-filled draft is at fault with besides follows from what is not filled in
  if (options.open !== true) findPlaceholders(reading, root);
  problems.throwIfAny();
  const campaign = await readSections(reading, tree!, options);
  problems.throwIfAny();
  return campaign!;
}

async function readSections(
  reading: Reading,
  root: TextMapping,
  options: { file: string; readText: (path: string) => Promise<string> | string },
): Promise<Campaign | null> {
  for (const key of Object.keys(root)) if (!keys.includes(key)) reading.unknownKey([key], keys);
  if (isBenchOnly(root)) return readBenchAlone(reading, root, options);
  const header = readHeader(reading, root);
  const configurations = readConfigurations(reading, root);
  const vehicle = readVehicle(reading, root);
  const parts = readParts(reading, root);
  const costs = readCosts(reading, root);
  const flight = reading.read(manifestShape.flight, root.flight, ["flight"]);
  const frames = readFrames(reading, root);
  const before = reading.problems.count;
  const signals = readSignals(reading, root);
  const sound = reading.problems.count === before;
  if (sound) checkWorldUp(reading, root, frames);
  const clocks = readClocks(reading, root, sound ? signals : null);
  const trajectories = readTrajectories(reading, root);
  const staticCaptures = reading.read(capturesField, root.static_captures, ["static_captures"]) ?? [];
  const definitions = reading.read(definitionsField, root.definitions, ["definitions"]);
  const bench = await readBenchBlock(reading, root, options, trajectories);
  const runsTable = await readRunsTable(reading, root.runs, {
    ...options,
    path: ["runs"],
    columns: Object.keys(runShape),
  });
  const runsReading = runsTable === null ? reading : new Reading(runsTable.places, reading.problems);
  const beforeRuns = reading.problems.count;
  const runsTree = runsTable === null ? (root.runs ?? null) : runsTable.root;
  if (runsTable !== null && findPlaceholders(runsReading, runsTree)) return null;
  const runs = readRuns(runsReading, runsTree, new FiledRuns(reading, root));
  const runsSound = reading.problems.count === beforeRuns;
  checkRuns(runsReading, runsTree, runs, {
    configurations: namesOf(root, "configurations"),
    trajectories: namesOf(root, "trajectories"),
    signals: sound ? signals : null,
  });
  const declared = runs.map(({ run }) => run);
  if (runsSound && declared.length > 0) checkOnboardBlocks(reading, frames, declared);
  const thresholds = readThresholds(reading, root);
  const accept = readAccept(reading, root, runsSound ? declared.map(({ id }) => id) : null);
  if (header === null) return null;
  const family = sound ? readFamily(reading, root, { primary: header.primary, trajectories, signals }) : null;
  const looks = readLooks(reading, root);
  checkOnePair(reading, looks, header);
  return {
    ...header,
    configurations,
    vehicle,
    ...(parts === null ? {} : { parts }),
    ...costs,
    ...(flight === null ? {} : { flight }),
    frames,
    signals,
    clocks,
    trajectories,
    staticCaptures,
    ...(definitions === null ? {} : { definitions }),
    runs: declared,
    ...(family === null ? {} : { family }),
    ...(looks === null ? {} : { looks }),
    ...(bench === null ? {} : { bench }),
    accept,
    thresholds,
  };
}

/** Looks are paid for cell by cell of one pair; with several they are counted. */
function checkOnePair(
  reading: Reading,
  looks: Campaign["looks"] | null,
  header: Pick<Campaign, "furtherContrasts"> | null,
): void {
  if (looks === null || header?.furtherContrasts === undefined) return;
  reading.complain(
    ["looks"],
    "found looks beside several candidates, expected one of the two: looks are paid for where one pair is judged",
    "leave `looks` out, which are counted all the same, or name one `candidate`",
  );
}

function namesOf(root: TextMapping, key: string): readonly string[] | null {
  return isMapping(root[key]) ? Object.keys(root[key]) : null;
}

/** A manifest of a bench without flights: what only flights need is not asked for. */
async function readBenchAlone(
  reading: Reading,
  root: TextMapping,
  options: { file: string; readText: (path: string) => Promise<string> | string },
): Promise<Campaign | null> {
  const header = readHeader(reading, root);
  const configurations = readConfigurations(reading, root);
  const vehicle = readVehicle(reading, root);
  const parts = readParts(reading, root);
  const costs = readCosts(reading, root);
  const frames = readFrames(reading, root);
  const trajectories = readTrajectories(reading, root);
  const bench = await readBenchBlock(reading, root, options, trajectories);
  const thresholds = readThresholds(reading, root);
  if (header === null || bench === null) return null;
  return {
    ...header,
    configurations,
    vehicle,
    ...(parts === null ? {} : { parts }),
    ...costs,
    frames,
    signals: {},
    clocks: { reference: null, others: {} },
    trajectories,
    staticCaptures: [],
    runs: [],
    bench,
    accept: [],
    thresholds,
  };
}

/** The block of the bench, with the table that its `runs` may name. */
async function readBenchBlock(
  reading: Reading,
  root: TextMapping,
  options: { file: string; readText: (path: string) => Promise<string> | string },
  trajectories: Campaign["trajectories"],
): Promise<BenchDeclaration | null> {
  if (!isMapping(root.bench)) return readBench(reading, root, null, trajectories);
  const columns = Object.keys(benchRunShape);
  const table = await readRunsTable(reading, root.bench.runs, { ...options, path: ["bench", "runs"], columns });
  const runs = table === null ? null : { reading: new Reading(table.places, reading.problems), tree: table.root };
  return readBench(reading, root, runs, trajectories);
}

/** The table that `runs` names; null where the runs stand in the manifest itself. */
async function readRunsTable(
  reading: Reading,
  runs: TextTree | undefined,
  options: {
    file: string;
    readText: (path: string) => Promise<string> | string;
    path: Path;
    columns: readonly string[];
  },
): Promise<PlacedTree | null> {
  if (Array.isArray(runs)) return null;
  if (typeof runs !== "string" || runs.trim() === "") {
    if (runs === undefined && reading.isMeant(options.path)) return null;
    const message = `found ${runs === undefined || runs === null ? "nothing" : "a mapping"}, expected a list of runs, or the path of a table such as runs.csv`;
    reading.complain(options.path, message, "each run has at least log, configuration and trajectory");
    return null;
  }
  let table: string;
  try {
    table = await options.readText(runs.trim());
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    reading.complain(
      options.path,
      `found ${JSON.stringify(runs)}, expected a table that can be read: ${reason}`,
      "the path is relative to the manifest",
    );
    return null;
  }
  const file = besideOf(options.file, runs.trim());
  return readCsvTree(table, { file, columns: options.columns, problems: reading.problems });
}

/** The table's name as the user would write it: beside the manifest. */
function besideOf(file: string, path: string): string {
  if (/^([/\\]|[A-Za-z]:)/.test(path)) return path;
  return file.slice(0, Math.max(file.lastIndexOf("/"), file.lastIndexOf("\\")) + 1) + path;
}

/**
 * Which axis of the capture's world points up is said once: by `frames: world` for all that was captured, or by the `axes` of a
 * signal. The axes of a body may stand beside either.
 */
function checkWorldUp(reading: Reading, root: TextMapping, { worldUp }: Pick<Frames, "worldUp">): void {
  if (worldUp === "z" || !isMapping(root.signals)) return;
  for (const name of ["vehicle_pose", "effector_pose"] as const) {
    const signal = root.signals[name];
    const axes = isMapping(signal) ? signal.axes : null;
    if (!isMapping(axes) || axes.world === undefined || axes.world === null) continue;
    reading.complain(
      ["signals", name, "axes", "world"],
      `found ${JSON.stringify(axes.world)} beside \`frames: world: up: y\`, expected one of them: ${axes.world === "enu" ? "enu has z up" : `${axes.world} has z down`}`,
      "leave `world` out of these axes where the capture has y up, else `up: y` out of frames",
    );
  }
}
