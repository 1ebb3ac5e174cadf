import "../style/run.css";
import "../style/rig.css";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { RunRow, RunsAnswer } from "../../src/contract/api/runAnswers.ts";
import type { SetupAnswer } from "../../src/contract/api/setupAnswer.ts";
import { addressOf } from "../app/address.ts";
import { element } from "../app/element.ts";
import { AnswerError, fetchAnswer } from "../app/fetchAnswer.ts";
import { labelOf } from "../app/names.ts";
import type { View, ViewContext } from "../app/View.ts";
import { countText, lengthText } from "../app/words.ts";
import { figureFrame } from "../figures/figureFrame.ts";
import { headingRose, type RoseGroup } from "../figures/headingRose.ts";
import { farApart, type RigRun, setupFigure } from "../figures/setupFigure.ts";

/** findings that speak of how things stand to each other */
const ofFrames = new Set(["frame-suspect", "swap", "heading-apart", "constant-offset"]);
const widest = 1160;

/** The rig as manifest and logs have it, to scale, and what contradicts. */
export const setupView: View = async (root, { campaign, left }) => {
  const told = element("p", { class: "quiet loading", role: "status", text: "Fetching the runs …" });
  root.append(told);
  const { runs } = await fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left });
  const rig: RigRun[] = [];
  const drawnWeights = new Set<string>();
  for (const [k, run] of runs.entries()) {
    told.textContent = `Reading run ${k + 1} of ${runs.length}: ${run.id} …`;
    const answer = await placesOf(run, left);
    if (answer === null) continue;
    const configuration = campaign.configurations.find(({ name }) => name === run.configuration);
    const isFirst = configuration !== undefined && answer.hover !== null && !drawnWeights.has(configuration.name);
    if (isFirst) drawnWeights.add(configuration.name);
    rig.push({
      ...answer,
      tone: configuration?.role ?? "other",
      doubted: run.checks.some(({ code, severity }) => severity !== "note" && ofFrames.has(code)),
      weights: isFirst ? configuration.counterweights : [],
    });
  }
  const width = Math.max(300, Math.min(widest, root.clientWidth || widest));
  told.replaceWith(
    element("h1", { text: "Set-up", tabindex: "-1" }),
    element("p", {
      class: "reading",
      text: "What the manifest says and what the logs show, in one picture and to scale. A tool point that was left out, a turned capture, bodies exchanged or another world are seen here before any number is read.",
    }),
    findings(runs, rig),
    figureFrame(
      {
        name: "set-up",
        title: "The rig",
        caption: `Box: all that was flown. Arrows: origin and axes of the capture's world. Dart (not to scale): vehicle at its mean hover, nose forward; square: arm base; dashed: commanded path of the tool; thin: flown.${campaign.blind ? "" : " Discs: counterweights with their mass, at the first run of each configuration."} Dark red: what contradicts.`,
      },
      setupFigure(rig, {
        width,
        label: `The rig of ${countText(rig.length, "run")} from above and from the side, to scale`,
      }),
      { level: 2, wide: true },
    ),
    figureFrame(
      {
        name: "headings",
        title: "Headings",
        caption: `Which way the noses point, by ${campaign.blind ? "block" : "configuration and block"}; one needle a run, x to the right.`,
      },
      headingRose(roseGroups({ campaign }, runs, rig), { width, label: "Headings of the runs" }),
      { level: 2, wide: true },
    ),
  );
};

/** Null for a run of which nothing could be read: its own page says why. */
async function placesOf({ id }: RunRow, left: AbortSignal): Promise<SetupAnswer | null> {
  try {
    return await fetchAnswer<SetupAnswer>(apiPaths.setup(id), { signal: left });
  } catch (error) {
    if (error instanceof AnswerError && error.code === "log-unreadable") return null;
    throw error;
  }
}

/** What contradicts, in words, each with the runs it is of: the drawing's dark red. */
function findings(runs: readonly RunRow[], rig: readonly RigRun[]): HTMLElement {
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
  const far = rig.filter(({ apart }) => (apart ?? 0) >= farApart);
  const lines = [
    ...[...groups.values()].map((group) => [group.message, group.runs] as const),
    ...(far.length === 0
      ? []
      : [
          [
            `the tool's mean lies ${lengthText(Math.max(...far.map(({ apart }) => apart!)))} or less from the mean of its command: tool point, arm base or onboard world?`,
            far.map(({ run }) => run),
          ] as const,
        ]),
  ];
  if (lines.length === 0) return element("p", { text: "No finding about frames in any run." });
  return element(
    "ul",
    { class: "rig-findings" },
    lines.map(([message, ids]) =>
      element("li", {}, [
        element("strong", { text: "▲ " }),
        `${message} (${countText(ids.length, "run")}: `,
        element("a", {
          href: addressOf({ page: "run", run: ids[0]!, subject: "vehicle", window: null }),
          text: ids[0]!,
        }),
        ids.length > 1 ? ` and ${ids.length - 1} more)` : ")",
      ]),
    ),
  );
}

function roseGroups(
  { campaign }: Pick<ViewContext, "campaign">,
  runs: readonly RunRow[],
  rig: readonly RigRun[],
): RoseGroup[] {
  const groups = new Map<
    string,
    { name: string; tone: RoseGroup["tone"]; headings: { run: string; heading: number }[] }
  >();
  for (const { run: id, heading, tone } of rig) {
    const run = runs.find((row) => row.id === id);
    if (heading === null || run === undefined) continue;
    const name = [run.configuration === null ? null : labelOf(campaign, run.configuration), run.block]
      .filter((part) => part !== null)
      .join(", ");
    const group = groups.get(name) ?? { name: name === "" ? "all runs" : name, tone, headings: [] };
    group.headings.push({ run: id, heading });
    groups.set(name, group);
  }
  return [...groups.values()].sort((a, b) => a.name.localeCompare(b.name));
}
