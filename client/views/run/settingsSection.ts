import { element } from "../../app/element.ts";
import { millimetres } from "../../app/words.ts";
import { figuresTable, numberCell } from "./figuresTable.ts";
import type { RunPage } from "./RunPage.ts";

/** thresholds that decide what of a run is scored, with their units and what they do */
const deciding: readonly (readonly [string, string])[] = [
  ["gap_intervals", "median intervals between samples that make a gap"],
  ["frozen_poses", "identical poses that count as frozen"],
  ["valid_fraction", "least share of valid samples in the scored window"],
  ["hold_length", "seconds of constant command that make a hold"],
  ["hold_settle", "seconds after the last change before the hold counts"],
  ["trajectory_tolerance", "share by which a command may differ from its trajectory"],
  ["cycles_advised", "cycles below which a doubt is raised"],
  ["harmonics", "harmonics of the cycle in the synchronous split"],
  ["noise_ratio", "noise sd below which an rms is called noise"],
];

/** What the run's figures rest on: where truth comes from, the signals, what was fitted, and the thresholds applied. */
export function settingsSection({ campaign, run }: RunPage): HTMLElement {
  const { truth, signals, thresholds } = campaign;
  const own = `run ${run.id}:`;
  const fitted = campaign.fitted.filter(({ what }) => what.startsWith(own) || !what.startsWith("run "));
  return element("section", { class: "run-settings", "aria-labelledby": "settings" }, [
    element("h2", { id: "settings", text: "What these figures rest on" }),
    element("p", {
      text: `Truth is the motion capture: vehicle ${truth.vehicle}${truth.effector === null ? "" : `, end effector ${truth.effector}`}.`,
    }),
    element("details", {}, [
      element("summary", { text: "Signals, fits and thresholds" }),
      figuresTable({
        name: `${run.id} signals`,
        caption: "Signals",
        columns: ["signal", "from", "clock", "also"],
        rows: Object.entries(signals).map(([signal, { topic = "", clock = "", ...also }]) => [
          { text: signal },
          { text: topic },
          { text: clock },
          {
            text: Object.entries(also)
              .map(([key, value]) => `${key} ${value}`)
              .join(", "),
          },
        ]),
      }),
      fitted.length === 0
        ? null
        : figuresTable({
            name: `${run.id} fitted`,
            caption: "Fitted or applied to the data, and how far it moved the result",
            columns: ["what", "on", "value", "moved, mm"],
            fileColumns: ["what", "on", "value", "moved, m"],
            rows: fitted.map(({ what, on, value, moved }) => [
              { text: what.startsWith(own) ? what.slice(own.length).trim() : what },
              { text: on },
              { text: value },
              numberCell(moved, (metres) => millimetres(metres, 2)),
            ]),
          }),
      figuresTable({
        name: `${run.id} thresholds`,
        caption: "Thresholds that decide what is scored",
        columns: ["threshold", "value", "what it does"],
        rows: deciding.flatMap(([name, words]) => {
          const value = thresholds[name];
          return value === undefined ? [] : [[{ text: name }, numberCell(value, String), { text: words }]];
        }),
      }),
    ]),
  ]);
}
