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
import { checksText, decideDialog, runAction, useText } from "./decideDialog.ts";

/** Letters of a name in a column. */
const longestName = 32;

/**
 * The runs of the day in the order flown: which count and why not, and a person's word on each.
 *
 * @param decimals  of the lengths, millimetres
 */
export function runsTable(campaign: CampaignView, runs: readonly RunRow[], decimals: number): HTMLElement {
  const { blind } = campaign;
  // blind: no configuration beside a run, and no errors side by side
  const subjects = blind ? [] : campaign.subjects.filter((subject) => subject !== "arm");
  const sorted = [...runs].sort((a, b) => a.order - b.order);
  const heads = ["", "Run", ...(blind ? [] : ["Configuration"]), "Trajectory", "Block", "Battery"];
  const table = element("table", { class: "figures runs" }, [
    element("caption", {
      class: "quiet",
      text: blind
        ? "In the order flown, or by name where that is not known."
        : "In the order flown. Rms error over the cycles (over the hold where the trajectory is one), mm.",
    }),
    element("thead", {}, [
      element("tr", {}, [
        ...heads.map((text) =>
          element(
            "th",
            { scope: "col", rowspan: 2 },
            text === "" ? [element("span", { class: "unseen", text: "Order flown" })] : [text],
          ),
        ),
        ...subjects.map((subject) =>
          element("th", { scope: "colgroup", colspan: 3, class: "over", text: `rms, ${subject}` }),
        ),
        element("th", { scope: "col", rowspan: 2, class: "checks", text: "Checks" }),
        element("th", { scope: "col", rowspan: 2, text: "Used?" }),
        element("td", { rowspan: 2, class: "no-print" }),
      ]),
      element(
        "tr",
        {},
        subjects.flatMap((subject) =>
          axes.map((axis) =>
            element("th", { scope: "col", class: "number" }, [
              axis,
              element("span", { class: "unseen", text: `, ${subject}` }),
            ]),
          ),
        ),
      ),
    ]),
    element(
      "tbody",
      {},
      sorted.map((run) => row(campaign, run, { subjects, decimals })),
    ),
  ]);
  return element("div", { class: "scroll" }, [table]);
}

interface RowFrame {
  readonly subjects: readonly Subject[];
  readonly decimals: number;
}

function row(campaign: CampaignView, run: RunRow, { subjects, decimals }: RowFrame): HTMLElement {
  const role = campaign.configurations.find(({ name }) => name === run.configuration)?.role ?? "other";
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
    element("td", {
      class: worst === "none" ? "checks quiet" : "checks",
      text: worst,
      title: run.checks.map(({ message }) => message).join("\n") || null,
    }),
    element("td", { class: "use", text: useText(run) }),
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
