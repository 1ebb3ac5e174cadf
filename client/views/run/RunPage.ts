import type { JudgedIn } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { RunAnswer } from "../../../src/contract/api/runAnswers.ts";
import { type Subject, subjects } from "../../../src/foundation/tracks.ts";
import type { AxisNames } from "../../../src/words/places.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import type { Place } from "../../app/View.ts";
import type { Tone } from "../../figures/Figure.ts";

/** What every part of a run's page is drawn from. */
export interface RunPage {
  readonly campaign: CampaignView;
  readonly run: RunAnswer["run"];
  readonly decision: RunAnswer["decision"];
  readonly subject: Subject;
  readonly trajectory: CampaignView["trajectories"][number] | null;
  readonly configuration: CampaignView["configurations"][number] | null;
  readonly tone: Tone;
}

/** Gathers them. */
export function runPage(campaign: CampaignView, { run, decision }: RunAnswer, subject: Subject): RunPage {
  const configuration = campaign.configurations.find(({ name }) => name === run.configuration) ?? null;
  return {
    campaign,
    run,
    decision,
    subject,
    trajectory: campaign.trajectories.find(({ name }) => name === run.trajectory) ?? null,
    configuration,
    tone: configuration?.role ?? "other",
  };
}

/** "vehicle", "end effector" ...: what is judged, as a sentence names it. */
export const subjectWords: Readonly<Record<Subject, string>> = {
  vehicle: "vehicle",
  effector: "end effector",
  arm: "arm",
};

/** What the axes of a frame are called: the manifest names those of the world. */
export function axisNamesIn({ campaign }: Pick<RunPage, "campaign">, frame: JudgedIn): AxisNames {
  return frame === "world" ? campaign.axis_names : {};
}

/** Where positions and errors of a subject stand, for captions. */
export function frameWords(frame: JudgedIn): string {
  if (frame === "heading") return "the run's heading (x forward, y left, z up)";
  return frame === "vehicle" ? "the measured vehicle frame" : "the world frame";
}

const words: Readonly<Record<Subject, readonly [string, string]>> = {
  vehicle: ["Vehicle", "body point in the world"],
  effector: ["End effector", "tool point in the world"],
  arm: ["Arm", "tool point relative to the vehicle"],
};

/** Links to the same page for another subject: what stands in the address can be reached by it. */
export function subjectSwitch(
  present: readonly Subject[],
  chosen: Subject,
  placeOf: (subject: Subject) => Place,
): HTMLElement {
  return element("nav", { class: "subject-switch no-print", "aria-label": "What is judged" }, [
    element(
      "ul",
      {},
      subjects
        .filter((subject) => present.includes(subject) || subject === chosen)
        .map((subject) =>
          element("li", {}, [
            element("a", { href: addressOf(placeOf(subject)), "aria-current": subject === chosen ? "page" : null }, [
              element("strong", { text: words[subject][0] }),
              element("span", { class: "quiet", text: ` ${words[subject][1]}` }),
            ]),
          ]),
        ),
    ),
  ]);
}
