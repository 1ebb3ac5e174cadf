import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { FrameEffect } from "../../../src/contract/reasons.ts";
import { axisAt } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { fixed, lengthText, millimetres, probabilityValue, signedMillimetres } from "../../app/words.ts";
import { figuresTable, numberCell } from "../run/figuresTable.ts";

/** How far tool point and arm base, off by their uncertainty, could move the effector's verdicts. */
export function framesPart(campaign: CampaignView, frames: readonly FrameEffect[]): HTMLElement {
  const head = element("h2", { text: "If tool point and arm base were elsewhere" });
  const [first] = frames;
  if (first === undefined) {
    return element("section", {}, [
      head,
      element("p", {
        class: "quiet",
        text: "Nothing to show: the family has no cell of the end effector with a difference in rms or sd.",
      }),
    ]);
  }
  const { length, angle } = first.uncertainty;
  const axisOf = (one: FrameEffect): string => axisAt(campaign.judged_in, { ...one, subject: "effector" });
  const moved = frames.filter((one) => others(one) !== null).length;
  const mm = (metres: number): string => signedMillimetres(metres, 2);
  return element("section", { class: "why-frames" }, [
    head,
    element("p", {
      text: `Off by up to ${lengthText(length)} and ${fixed((180 * angle) / Math.PI, 1)}° on every axis at once, the same in every run: ${moved === 0 ? "every verdict of the end effector stands at both ends of its difference." : `at least ${moved} of ${frames.length} verdicts of the end effector could be others.`} Measure the tool point and state its uncertainty in the manifest (frames: uncertainty) to narrow this.`,
    }),
    figuresTable({
      name: "effector frames",
      caption: "The difference at its least and largest with the frames off",
      columns: [
        "trajectory",
        "axis",
        "as flown, mm",
        "moves by up to, mm",
        "least, mm",
        "largest, mm",
        "moved most by",
        "verdict",
        "with the frames off",
      ],
      fileColumns: [
        "trajectory",
        "axis",
        "as flown, m",
        "moves by up to, m",
        "least, m",
        "largest, m",
        "moved most by",
        "verdict",
        "with the frames off",
      ],
      rows: frames.map((one) => [
        { text: one.trajectory },
        { text: axisOf(one) },
        numberCell(one.difference, mm),
        numberCell(one.worst, (metres) => millimetres(metres, 2)),
        numberCell(one.lowest.difference, mm),
        numberCell(one.highest.difference, mm),
        { text: `${parameterText(one.largest.parameter)} (${lengthText(one.largest.change)})` },
        { text: one.verdict },
        { text: others(one) ?? "the verdict stands" },
      ]),
    }),
    element("p", {
      class: "quiet small",
      text: `p among the family at the ends: ${frames.map((one) => `${one.trajectory} ${axisOf(one)} ${probabilityValue(one.lowest.p_family)} and ${probabilityValue(one.highest.p_family)}`).join("; ")}.`,
    }),
  ]);
}

/** What it could be at either end; null where the verdict stands at both. */
function others({ verdict, lowest, highest }: FrameEffect): string | null {
  const found = [...new Set([lowest.verdict, highest.verdict])].filter((other) => other !== verdict);
  return found.length === 0 ? null : `could be ${found.join(", or ")}`;
}

/** "tool_point.x" as a person says it. */
export function parameterText(parameter: string): string {
  const [what = "", axis = ""] = parameter.split(".");
  return what.endsWith("_turn") ? `turn of the arm base about ${axis}` : `${what.replaceAll("_", " ")} along ${axis}`;
}
