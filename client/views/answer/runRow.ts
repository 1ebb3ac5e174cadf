import type { CellAxis } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { ExclusionsAnswer } from "../../../src/contract/api/messages.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import { axes, type Subject } from "../../../src/foundation/tracks.ts";
import { addressOf } from "../../app/address.ts";
import { element, labelOf, notify, shortName } from "../../app/element.ts";
import { sendChange } from "../../app/fetchAnswer.ts";
import { roleSigns } from "../../app/statusWords.ts";
import { instantText, millimetres } from "../../app/words.ts";
import type { OrderedRun } from "../../figures/orderFigure.ts";
import { runSign } from "../../figures/runLine.ts";
import { svg } from "../../figures/svg.ts";
import { checksText, decideDialog, runAction, useText } from "./decideDialog.ts";

/** Letters of a name in a column. */
const longestName = 32;

export function roleOf({ configurations }: CampaignView, run: RunRow): OrderedRun["role"] {
  return configurations.find(({ name }) => name === run.configuration)?.role ?? "other";
}

/** The rms that each row draws on one scale. */
export interface StripOf {
  readonly subject: Subject;
  readonly axis: CellAxis;
  readonly text: string;
}

/** Each row's rms as its sign on one scale. */
interface Strip {
  readonly head: HTMLElement;
  readonly of: (run: RunRow, role: OrderedRun["role"]) => HTMLElement;
}

const stripWidth = 112;

export function stripOf({ subject, axis, text }: StripOf, runs: readonly RunRow[]): Strip {
  const rmsOf = (run: RunRow): number | null => run.rms[subject]?.[axis] ?? null;
  const values = runs.flatMap((run) => rmsOf(run) ?? []);
  const most = Math.max(0, ...values);
  const place = (value: number): number => 6 + ((stripWidth - 12) * value) / (most || 1);
  return {
    head: element("th", { scope: "col", rowspan: 2, class: "strip" }, [
      text,
      element("span", { class: "strip-ends", "aria-hidden": "true" }, [
        element("span", { text: "0" }),
        element("span", { text: millimetres(most, 0) }),
      ]),
    ]),
    of: (run, role) => {
      const value = rmsOf(run);
      return element("td", { class: "strip" }, [
        value === null
          ? null
          : svg(
              "svg",
              {
                class: "drawing",
                viewBox: `0 0 ${stripWidth} 14`,
                width: stripWidth,
                height: 14,
                "aria-hidden": "true",
              },
              [
                svg("line", { class: "grid", x1: 6, x2: stripWidth - 6, y1: 7, y2: 7 }),
                runSign(role, place(value), 7, 3.6, { unused: !run.used }),
              ],
            ),
      ]);
    },
  };
}

export interface RowFrame {
  readonly subjects: readonly Subject[];
  readonly decimals: number;
  readonly strip: Strip | null;
}

/** A run of the table: which it is, its errors, what was found in it, whether it counts, and what a person can do about it. */
export function runRow(campaign: CampaignView, run: RunRow, { subjects, decimals, strip }: RowFrame): HTMLElement {
  const role = roleOf(campaign, run);
  const worst = checksText(run.checks);
  return element("tr", { class: run.used ? "" : "unused", data: { run: run.id } }, [
    element("td", { class: "number", text: run.order }),
    element("th", { scope: "row" }, [
      element("a", {
        href: addressOf({
          page: "run",
          run: run.id,
          subject: campaign.subjects.includes("effector") ? "effector" : "vehicle",
          window: null,
        }),
        text: run.id,
        title: run.started === null ? null : `started ${instantText(run.started)} UTC`,
      }),
    ]),
    run.configuration === null
      ? null
      : element("td", {}, [
          element("span", { class: `sign ${role}`, "aria-hidden": "true", text: roleSigns[role] }),
          named(labelOf(campaign, run.configuration)),
        ]),
    element("td", {}, [named(run.trajectory)]),
    element("td", {}, [named(run.block ?? "–")]),
    element("td", {}, [named(run.battery ?? "–")]),
    ...subjects.flatMap((subject) =>
      axes.map((axis) =>
        element("td", { class: "number", text: millimetres(run.rms[subject]?.[axis] ?? null, decimals) }),
      ),
    ),
    strip === null ? null : strip.of(run, role),
    element("td", {
      class: worst === "none" ? "checks quiet" : "checks",
      text: worst,
      title: run.checks.map(({ message }) => message).join("\n") || null,
    }),
    element("td", { class: "use" }, [
      useText(run),
      run.notes === null ? null : element("span", { class: "run-note quiet", text: `note: ${run.notes}` }),
    ]),
    element("td", { class: "no-print" }, [actionButton(run)]),
  ]);
}

/** A name as it fits into a column; the whole of it on asking. */
function named(text: string): HTMLElement {
  const short = shortName(text, longestName);
  return element("span", { text: short, title: short === text ? null : text });
}

function actionButton(run: RunRow): HTMLElement | null {
  const action = runAction(run);
  if (action === null) return null;
  const button = element("button", {
    type: "button",
    class: "plain",
    id: `decide-${run.id}`,
    text: action.button,
    "aria-label": `${action.button.replace("…", "")} ${run.id}`,
  });
  const done = (what: string): void => notify(`${run.id} ${what}: the runs are looked at again.`);
  button.addEventListener("click", async () => {
    if (action.kind !== "take back") {
      const include = action.kind === "put back";
      if (await decideDialog(run.id, include))
        done(include ? "is put back, with the reason" : "is left out, with the reason");
      // a new evaluation may have drawn the table again
      document.getElementById(button.id)?.focus();
      return;
    }
    try {
      await sendChange<ExclusionsAnswer>("DELETE", apiPaths.exclusions, { run: run.id });
      done(run.decision?.include ? "is left out again, as the manifest says" : "is no longer left out here");
    } catch (error) {
      notify(`${run.id}: not done: ${error instanceof Error ? error.message : "the service does not say why"}`);
    }
  });
  return button;
}
