import type { CommandShape } from "../../contract/inspection.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import type { CampaignSketch, RunDraft, TrajectoryDraft } from "./CampaignSketch.ts";
import { assign, clockLines, nameClocks, type Placed, signalLines, unknownTypes } from "./signalLines.ts";
import { oneLine, yamlText } from "./summariseDraft.ts";

/**
 * A `campaign.yaml` to start from: what the logs show, and places to fill in, written `<LIKE THIS>`, for what only a person knows,
 * each asked once. With the places filled in, it is a manifest.
 */
export function manifestDraft(sketch: CampaignSketch): string {
  const { logs, runs, left, statics } = sketch;
  const signals = assign(logs);
  const hasArm = signals.has("effector_pose") || signals.has("effector_command");
  const clocks = nameClocks(signals, sketch.sight);
  const twoClocks = new Set(clocks.values()).size > 1;
  const lines = [
    `title: ${yamlText(sketch.title)}`,
    ...configurationLines(sketch, hasArm),
    ...frameLines(signals, sketch.up),
    ...(sketch.definitions.length === 0 ? [] : [`definitions: [${sketch.definitions.map(yamlText).join(", ")}]`]),
    "signals:",
    ...signalLines(signals, twoClocks ? clocks : null, {
      asColumns: logs.some(({ isTable }) => isTable),
      isPoints: logs.every(({ isPoints }) => isPoints),
    }),
    ...unknownTypes(
      logs.flatMap(({ unknown }) => unknown),
      signals,
    ),
    ...(twoClocks ? clockLines(signals, clocks, { ...sketch, twoLogs: logs.length > 1 }) : []),
    ...trajectoryLines(sketch.trajectories, runs.length, signals.has("effector_command") ? "arm's" : "vehicle's"),
    ...(statics.length === 0
      ? []
      : [
          `static_captures: [${statics.map(yamlText).join(", ")}]     # nothing moves in them: the noise of the capture`,
        ]),
    ...(sketch.table === null ? listedRuns(sketch) : tabledRuns(sketch.table, sketch.runs)),
    ...left.map(({ path, why }) => `  # left out, ${oneLine(why)}: log: ${oneLine(yamlText(path))}`),
  ];
  return `${lines.join("\n")}\n`;
}

function listedRuns({ logs, runs, pairedBy }: CampaignSketch): string[] {
  const how =
    pairedBy === null
      ? "neither names nor times tell which logs go together: write each run with its logs"
      : `logs paired ${pairedBy}: check each pair`;
  return [`runs:${logs.length < 2 ? "" : `     # ${how}`}`, ...runs.map(runLine)];
}

/** The table stays what files the runs; what it does not say, or says otherwise than the logs, stands below. */
function tabledRuns(table: string, runs: readonly RunDraft[]): string[] {
  return [
    `runs: ${yamlText(table)}     # a table beside the logs`,
    ...runs.flatMap(({ logs, remark }) =>
      remark === null ? [] : [`  # ${oneLine(logs[0]!.path)}: ${oneLine(remark)}`],
    ),
  ];
}

/** Which run flew how is asked in one line, where no name tells. */
function configurationLines({ configurations, runs }: CampaignSketch, hasArm: boolean): string[] {
  const difference = "smallest_difference: <LENGTH>     # the smallest change that would matter, such as 1.5 mm";
  if (configurations === null) {
    const [base, other] = hasArm ? ["bare", "weighted"] : ["reference", "changed"];
    const sample = runs.slice(0, 2).map((run) => run.id ?? plainName(run.logs[0]!.path));
    return [
      `baseline: ${base}`,
      `candidate: ${other}`,
      difference,
      "configurations:",
      `  ${base}: { label: ${base} }     # the runs that no other lists`,
      `  ${other}: { label: ${other}, runs: <RUNS>${hasArm ? ", added_mass: <MASS>" : ""} }     # the runs flown so, such as [${sample.map(yamlText).join(", ")}]${hasArm ? "; what was added, such as 540 g" : ""}`,
    ];
  }
  const { names, baseline } = configurations;
  const rest = names.filter((name) => name !== baseline);
  const listed = names.map((name) => oneLine(name)).join(", ");
  return [
    `baseline: ${baseline === null ? "<BASELINE>" : yamlText(baseline)}${baseline === null ? `     # of ${listed}: what the others are compared with` : ""}`,
    `candidate: ${baseline !== null && rest.length === 1 ? yamlText(rest[0]!) : `<CANDIDATE>     # of ${listed}`}`,
    difference,
    `configurations:     # as the names of the logs tell them apart${hasArm && baseline === null ? "; where weights were added say how much, such as added_mass: 540 g" : ""}`,
    ...names.map((name) => {
      const asks = hasArm && baseline !== null && name !== baseline;
      return `  ${yamlText(name)}: { label: ${yamlText(name)}${asks ? ", added_mass: <MASS>" : ""} }${asks ? "     # what was added, such as 540 g" : ""}`;
    }),
  ];
}

/** As a list of runs may call it: without folder and ending. */
function plainName(path: string): string {
  return (path.split(/[/\\]/).at(-1) ?? path).replace(/(?<=.)\.[^.]*$/, "");
}

/** What has to be measured by hand where there is an arm. */
function frameLines(signals: ReadonlyMap<SignalName, Placed>, up: CampaignSketch["up"]): string[] {
  const command = signals.get("effector_command");
  const isPlaced = command !== undefined && !command.parts.includes("frame: world");
  const base = command?.armBase;
  const shown = base === undefined ? "" : `; the tool's markers show ${base} plus tool_point`;
  const lines = [
    ...(up === "y" ? ["  world: { up: y }     # of the capture: the vehicle takes off along y"] : []),
    ...(signals.has("effector_pose")
      ? [
          "  tool_point: <TOOL_POINT>     # the point that works, in the frame of the tool's markers, such as [0 mm, 0 mm, -45 mm]",
        ]
      : []),
    ...(isPlaced && signals.has("effector_pose")
      ? [
          `  arm_base: <ARM_BASE>     # where the arm's command counts from, in the vehicle's body frame, such as [60 mm, 0 mm, -120 mm]${shown}`,
        ]
      : []),
  ];
  return lines.length === 0 ? [] : ["frames:     # as measured on the vehicle", ...lines];
}

function trajectoryLines(trajectories: readonly TrajectoryDraft[], count: number, whose: string): string[] {
  if (count === 0) return ["trajectories:", `  flown: ${asked}`];
  return [
    "trajectories:",
    ...trajectories.map(({ name, shape, runs }) => {
      const alone = runs.length === 1 && count > 2 ? "; alone among the logs: check that it is meant" : "";
      const from = `from the ${whose} command of ${runs.length} of ${count} runs${alone}`;
      return shape === null ? `  ${name}: ${asked}` : `  ${name}: ${shapeText(shape)}     # ${from}`;
    }),
  ];
}

const asked =
  "{ shape: <SHAPE> }     # no command tells: logged; or hold with duration, circle with plane, radius, period and cycles, line with axis, stroke, period and cycles";

/** A trajectory in the words of a manifest. */
export function shapeText(shape: CommandShape): string {
  const period = (seconds: number): string => `period: ${digits(seconds, 4)} s`;
  switch (shape.shape) {
    case "circle":
      return `{ shape: circle, plane: ${shape.plane}, radius: ${digits(1e3 * shape.radius, 3)} mm, ${period(shape.period)}, cycles: ${shape.cycles} }`;
    case "line":
      return `{ shape: line, axis: ${yamlText(shape.axis)}, stroke: ${digits(1e3 * shape.stroke, 3)} mm, ${period(shape.period)}, cycles: ${shape.cycles} }`;
    case "hold":
      return `{ shape: hold, duration: ${Math.max(1, Math.floor(shape.duration))} s }`;
    case "logged":
      return `{ shape: logged${shape.period === null ? "" : `, ${period(shape.period)}`} }`;
  }
}

function digits(value: number, count: number): number {
  return Number(value.toPrecision(count));
}

function runLine({ logs, id, span, configuration, trajectory, block, battery, started, remark }: RunDraft): string {
  const named = logs.map(({ name, path }) => (name === null ? yamlText(path) : `${yamlText(name)}: ${yamlText(path)}`));
  const parts = [
    logs[0]?.name === null ? `log: ${named[0]}` : `logs: { ${named.join(", ")} }`,
    ...(id === null ? [] : [`id: ${yamlText(id)}`]),
    ...(span === null ? [] : [`span: [${span[0]} s, ${span[1]} s]`]),
    ...(configuration === null ? [] : [`configuration: ${yamlText(configuration)}`]),
    `trajectory: ${yamlText(trajectory)}`,
    ...(block === null ? [] : [`block: ${yamlText(block)}`]),
    ...(battery === null ? [] : [`battery: ${yamlText(battery)}`]),
    ...(started === null ? [] : [`started: "${started}"`]),
  ];
  return `  - { ${parts.join(", ")} }${remark === null ? "" : `     # ${oneLine(remark)}`}`;
}
