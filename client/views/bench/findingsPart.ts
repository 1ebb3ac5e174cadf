import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { BenchCheck, BenchEvaluation } from "../../../src/contract/benchEvaluation.ts";
import { joinWords } from "../../../src/words/amounts.ts";
import { element } from "../../app/element.ts";
import { countText, fixed, noValue, typeset } from "../../app/words.ts";
import { figuresTable, numberCell } from "../run/figuresTable.ts";
import { configurationLabel } from "../why/movingPart.ts";

const words = { note: "● Note", doubt: "▲ Doubt", unusable: "✕ Unusable" } as const;
const order = ["unusable", "doubt", "note"] as const;

/** What is wrong with the bench as a whole, and with its runs, each finding once with the runs that have it. */
export function findingsPart({ checks, runs }: BenchEvaluation): HTMLElement {
  const found = [
    ...checks.map((check) => ({ check, of: "" })),
    ...grouped(runs).map(({ check, ids }) => ({
      check,
      of: ids.length > 3 ? countText(ids.length, "run") : joinWords(ids),
    })),
  ].sort((a, b) => order.indexOf(a.check.severity) - order.indexOf(b.check.severity));
  return element("section", { class: "audit-findings" }, [
    element("h2", { text: "Findings" }),
    ...(found.length === 0
      ? [element("p", { text: `None in ${countText(runs.length, "run")} or in the bench as a whole.` })]
      : found.map(({ check: { code, severity, message, hint }, of }) =>
          element("div", { class: `finding ${severity}` }, [
            element("h3", { text: `${words[severity]}: ${code}${of === "" ? "" : `, ${of}`}` }),
            element("p", { text: typeset(message) }),
            element("p", {}, [element("strong", { text: "What to do: " }), typeset(hint)]),
          ]),
        )),
  ]);
}

/** Of runs with the same finding the first one's words stand for all. */
function grouped(runs: BenchEvaluation["runs"]): { readonly check: BenchCheck; readonly ids: readonly string[] }[] {
  const groups = new Map<string, { readonly check: BenchCheck; readonly ids: string[] }>();
  for (const { id, checks } of runs) {
    for (const check of checks) {
      const key = `${check.code} ${check.severity}`;
      const group = groups.get(key) ?? { check, ids: [] };
      group.ids.push(id);
      groups.set(key, group);
    }
  }
  return [...groups.values()];
}

/** What the figures were held against, and what they were not. */
export function uncheckedPart(campaign: CampaignView, bench: BenchEvaluation): HTMLElement {
  const creep = bench.runs.some(({ period, used }) => used && (period ?? 0) >= bench.settings.creep_period!);
  const absent = [
    ...bench.unchecked,
    ...(creep ? [] : ["gravity's part at rest (no creep run: it rests on the straight line over the speeds alone)"]),
  ];
  const { filter, calibrated } = bench.sensor;
  return element("section", { class: "bench-unchecked" }, [
    element("h2", { text: "What this was held against" }),
    element("p", {
      class: "reading",
      text: `The device's filter: ${filter}. Calibrated: ${calibrated ?? "not declared"}.`,
    }),
    ...(absent.length === 0
      ? [
          element("p", {
            text: "Known masses, taps and a creep run are there. None of them sees a turn about the vertical of sensor and arm together.",
          }),
        ]
      : [
          element("p", { class: "reading", text: "Held against nothing, so nobody can tell whether it is right:" }),
          element(
            "ul",
            { class: "reading" },
            absent.map((text) => element("li", { text })),
          ),
        ]),
    bench.resonance.length === 0
      ? null
      : figuresTable({
          name: "resonance of the stand",
          caption: "Own frequency of stand and arm, by tap",
          columns: ["configuration", "along", "frequency, Hz", "damping, % of critical"],
          rows: bench.resonance.map(({ configuration, axis, frequency, damping }) => [
            { text: configurationLabel(campaign, configuration) || noValue },
            { text: axis },
            numberCell(frequency, (value) => fixed(value, 1)),
            numberCell(100 * damping, (value) => fixed(value, 1)),
          ]),
        }),
  ]);
}
