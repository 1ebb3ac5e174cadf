import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { element } from "../../app/element.ts";
import { fixed, millimetres, noValue } from "../../app/words.ts";
import { figuresTable, numberCell, type TableCell } from "./figuresTable.ts";
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

/** How the run's clocks were brought together: offset and skew with their standard errors, and on what they rest. */
export function clockSection({ id, clocks }: Pick<RunEvaluation, "id" | "clocks">): HTMLElement {
  const names = Object.keys(clocks);
  return element("section", { class: "run-clocks", "aria-labelledby": "clocks" }, [
    element("h2", { id: "clocks", text: "Clock fit" }),
    element("p", {
      class: "quiet",
      text: "Offset: that clock's stamp less the reference clock's stamp of the same instant, at the run's start; skew: its growth. A second peak near 1 would mean that another offset fits as well.",
    }),
    names.length === 0
      ? element("p", { text: "Every signal of this run was stamped by the reference clock: nothing was fitted." })
      : figuresTable({
          name: `${id} clocks`,
          caption: "Clocks against the reference clock",
          columns: [
            "clock",
            "offset, ms",
            "± se, ms",
            "skew, ppm",
            "± se, ppm",
            "second peak ratio",
            "ambiguous",
            "fitted from",
          ],
          fileColumns: [
            "clock",
            "offset, s",
            "offset_se, s",
            "skew",
            "skew_se",
            "second_peak_ratio",
            "ambiguous",
            "source",
          ],
          rows: names.map((name): TableCell[] => {
            const clock = clocks[name]!;
            const offsetDecimals = digits(clock.offset_se === null ? null : 1e3 * clock.offset_se, 3);
            const skewDecimals = digits(clock.skew_se === null ? null : 1e6 * clock.skew_se, 1);
            return [
              { text: name },
              numberCell(clock.offset, (seconds) => fixed(1e3 * seconds, offsetDecimals)),
              numberCell(clock.offset_se, (seconds) => fixed(1e3 * seconds, offsetDecimals)),
              numberCell(clock.skew, (skew) => fixed(1e6 * skew, skewDecimals)),
              numberCell(clock.skew_se, (skew) => fixed(1e6 * skew, skewDecimals)),
              numberCell(clock.second_peak_ratio, (ratio) => fixed(ratio, 3)),
              { text: clock.ambiguous ? "▲ yes" : "no" },
              { text: clock.source || noValue },
            ];
          }),
        }),
  ]);
}

/** Decimals to the second digit of a standard error in the unit that is read. */
function digits(error: number | null, otherwise: number): number {
  if (error === null || !(error > 0)) return otherwise;
  return Math.max(0, Math.min(6, 1 - Math.floor(Math.log10(error))));
}
