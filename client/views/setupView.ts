import "../style/run.css";
import "../style/setup.css";
import type { RigAnswer, SetupAnswer } from "../../src/contract/api/campaignAnswer.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { RunRow, RunsAnswer } from "../../src/contract/api/runAnswers.ts";
import { addressOf } from "../app/address.ts";
import { element, labelOf } from "../app/element.ts";
import { AnswerError, fetchAnswer } from "../app/fetchAnswer.ts";
import type { View, ViewContext } from "../app/View.ts";
import { countText } from "../app/words.ts";
import { figureFrame } from "../figures/figureFrame.ts";
import { headingRose, type RoseGroup } from "../figures/headingRose.ts";
import type { RigMarks, RigRun } from "../figures/rigParts.ts";
import { setupFigure } from "../figures/setupFigure.ts";
import { type Contradiction, contradictions, distanceText, middleOf, toolOff } from "./setup/contradictions.ts";
import { questionsPart } from "./setup/questionsPart.ts";

/** findings that speak of how things stand to each other */
const ofFrames = new Set(["frame-suspect", "swap", "heading-apart", "constant-offset"]);

/** What the manifest leaves open, the rig as manifest and logs have it, to scale, and what contradicts. */
export const setupView: View = async (root, { campaign, left }) => {
  const waiting = element("p", { class: "quiet loading", role: "status", text: "Fetching the runs …" });
  root.append(waiting);
  const questions = questionsPart();
  const [{ runs }, { counterweights, com }] = await Promise.all([
    fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left }),
    fetchAnswer<RigAnswer>(apiPaths.rig, { signal: left }),
    questions.refresh(),
  ]);
  const rig: RigRun[] = [];
  for (const [k, run] of runs.entries()) {
    waiting.textContent = `Reading run ${k + 1} of ${runs.length}: ${run.id} …`;
    const answer = await placesOf(run, left);
    if (answer === null) continue;
    rig.push({
      ...answer,
      trajectory: run.trajectory,
      tone: campaign.configurations.find(({ name }) => name === run.configuration)?.role ?? "other",
      doubted: { vehicle: false, tool: false },
    });
  }
  const found = contradictions(rig);
  const weights = counterweights.flatMap(({ configuration, weights: own }) =>
    own.map(({ mass, at }) => ({
      mass,
      at,
      tone: campaign.configurations.find(({ label }) => label === configuration)?.role ?? ("other" as const),
    })),
  );
  const carried =
    weights.length === 0
      ? ""
      : ` Discs: counterweights with their mass${campaign.blind ? ", of whichever configuration: masses are shown because they are checked here" : ""}.`;
  waiting.replaceWith(
    element("h1", { text: "Set-up", tabindex: "-1" }),
    questions.element,
    element("p", {
      class: "reading",
      text: "What the manifest says and what the logs show, in one picture and to scale.",
    }),
    findings(runs, found),
    figureFrame(
      {
        name: "set-up",
        title: "The rig",
        caption: `Box: all that was flown. Arrows: origin and axes of the capture's world. Dart (not to scale): vehicle at its mean hover, nose forward; cross: its setpoint; square: arm base; dashed: commanded path of the tool; thin: flown.${carried} ${comWords(com)} Dark red: what contradicts.`,
      },
      (width) =>
        setupFigure(
          rig.map((run) => ({ ...run, doubted: doubtsOf(run.run, runs, found) })),
          { weights, com: com?.at ?? null, gaps: found.flatMap((one) => gapsOf(one, rig)) },
          {
            width,
            names: campaign.axis_names,
            label: `The rig of ${countText(rig.length, "run")} from above and from the side, to scale`,
          },
        ),
      { level: 2, wide: true },
    ),
    figureFrame(
      {
        name: "headings",
        title: "Headings",
        caption: `Which way the noses point, by ${campaign.blind ? "block" : "configuration and block"}; one needle a run, x to the right. Dashed: where the setpoint faces, where that is another way.`,
      },
      (width) => headingRose(roseGroups({ campaign }, runs, rig), { width, label: "Headings of the runs" }),
      { level: 2, wide: true },
    ),
  );
};

/** What of a run is drawn in the colour of doubts. A finding about frames does not say which of the two it is of. */
function doubtsOf(id: string, runs: readonly RunRow[], found: readonly Contradiction[]): RigRun["doubted"] {
  const checks = runs.find((run) => run.id === id)?.checks ?? [];
  const isFound = checks.some(({ code, severity }) => severity !== "note" && ofFrames.has(code));
  const own = found.filter((one) => one.runs.includes(id));
  return {
    vehicle: isFound || own.some(({ of }) => of !== "tool"),
    tool: isFound || own.some(({ of }) => of === "tool"),
  };
}

/** Lines for the runs that contradict; the distance is written once. */
function gapsOf({ of, runs, size }: Contradiction, rig: readonly RigRun[]): RigMarks["gaps"] {
  if (of === "nose") return [];
  const ends = rig.flatMap((run) => {
    if (!runs.includes(run.run)) return [];
    if (of === "vehicle")
      return run.hover === null || run.setpoint === null ? [] : [[run.setpoint, run.hover] as const];
    return toolOff(run) === null ? [] : [[middleOf(run.command), middleOf(run.tool)] as const];
  });
  return ends.map(([from, to], k) => ({ of, from, to, text: k === 0 ? distanceText(size) : "" }));
}

/** Null for a run of which nothing could be read: its own page says why. */
async function placesOf({ id }: RunRow, left: AbortSignal): Promise<SetupAnswer | null> {
  try {
    return await fetchAnswer<SetupAnswer>(apiPaths.setup(id), { signal: left });
  } catch (error) {
    if (error instanceof AnswerError && error.code === "log-unreadable") return null;
    throw error;
  }
}

/** What contradicts, in words: the drawing's dark red, then what the checks found, each with the runs it is of. */
function findings(runs: readonly RunRow[], found: readonly Contradiction[]): HTMLElement {
  const groups = new Map<string, { message: string; runs: string[] }>();
  for (const run of runs)
    for (const { code, severity, message } of run.checks) {
      if (severity === "note" || !ofFrames.has(code)) continue;
      // one finding in many runs differs in its numbers alone
      const key = `${code} ${message.replace(/[\d.]+/g, "")}`;
      const known = groups.get(key) ?? { message: `${code}: ${message}`, runs: [] };
      known.runs.push(run.id);
      groups.set(key, known);
    }
  const items = [
    ...found.map(({ words }) => [words]),
    ...[...groups.values()].map((group) => [
      `${group.message} (${countText(group.runs.length, "run")}: `,
      element("a", {
        href: addressOf({ page: "run", run: group.runs[0]!, subject: "vehicle", window: null }),
        text: group.runs[0]!,
      }),
      group.runs.length > 1 ? ` and ${group.runs.length - 1} more)` : ")",
    ]),
  ];
  if (items.length === 0)
    return element("p", { text: "What was flown lies where it was asked to be, and no finding speaks of frames." });
  return element(
    "ul",
    { class: "rig-findings" },
    items.map((parts) => element("li", {}, [element("strong", { text: "▲ " }), ...parts])),
  );
}

function roseGroups(
  { campaign }: Pick<ViewContext, "campaign">,
  runs: readonly RunRow[],
  rig: readonly RigRun[],
): RoseGroup[] {
  const groups = new Map<
    string,
    { name: string; tone: RoseGroup["tone"]; headings: { run: string; heading: number; asked: number | null }[] }
  >();
  for (const { run: id, heading, heading_commanded: asked, tone } of rig) {
    const run = runs.find((row) => row.id === id);
    if (heading === null || run === undefined) continue;
    const name = [run.configuration === null ? null : labelOf(campaign, run.configuration), run.block]
      .filter((part) => part !== null)
      .join(", ");
    const group = groups.get(name) ?? { name: name === "" ? "all runs" : name, tone, headings: [] };
    group.headings.push({ run: id, heading, asked });
    groups.set(name, group);
  }
  return [...groups.values()].sort((a, b) => a.name.localeCompare(b.name));
}

/** What the mark of the centre of mass stands for, or why there is none. */
function comWords(com: RigAnswer["com"]): string {
  if (com === null) return "The centre of mass is not declared, so it is not drawn.";
  const from = com.source === "ledger" ? "summed up from the parts" : "as declared";
  return `Circle with two filled quarters: centre of mass of the baseline, ${from}.`;
}
