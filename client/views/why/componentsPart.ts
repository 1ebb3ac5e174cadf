import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Components } from "../../../src/contract/reasons.ts";
import { axisAt } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { fixed, millimetres, noValue } from "../../app/words.ts";
import { figuresTable, numberCell } from "../run/figuresTable.ts";

/** How much of the scatter lies between runs and between cycles, and what would narrow the intervals. */
export function componentsPart(campaign: CampaignView, components: readonly Components[]): HTMLElement {
  const head = element("h2", { text: "More runs, or longer runs?" });
  if (components.length === 0) {
    return element("section", {}, [
      head,
      element("p", {
        class: "quiet",
        text: "This takes runs that repeat one another, with at least two cycles each.",
      }),
    ]);
  }
  const cycles = components.filter(({ helps }) => helps === "more runs or more cycles").length;
  const worst = Math.max(...components.map((one) => one.design_effect));
  const mm = (metres: number): string => millimetres(metres, 2);
  return element("section", { class: "why-components" }, [
    head,
    element("p", {
      class: "reading",
      text: `What scatters between runs is narrowed by more runs alone; what scatters between the cycles of a run by longer runs too. ${
        cycles === 0
          ? "Longer runs would hardly help in any cell."
          : `Longer runs would help in ${cycles} of ${components.length} cells.`
      } Cycles counted as if they were runs would understate the variance up to ${fixed(worst, 1)} times.`,
    }),
    figuresTable({
      name: "variance components",
      caption:
        "Rms of each cycle taken apart (restricted maximum likelihood); standard error of a configuration's mean",
      columns: [
        "cell",
        "between runs, mm",
        "95 % interval",
        "between cycles, mm",
        "shared by a run's cycles",
        "as flown, mm",
        "twice the runs, mm",
        "twice the cycles, mm",
        "design effect",
        "helps",
      ],
      fileColumns: [
        "cell",
        "between runs, m",
        "95 % interval, mm",
        "between cycles, m",
        "intraclass correlation",
        "se as flown, m",
        "se with twice the runs, m",
        "se with twice the cycles, m",
        "design effect",
        "helps",
      ],
      rows: components.map((one) => [
        { text: `${one.trajectory} ${one.subject} ${axisAt(campaign.judged_in, one)}` },
        numberCell(one.between_runs, mm),
        {
          text:
            one.between_runs_ci95 === null
              ? noValue
              : `${mm(one.between_runs_ci95[0])} to ${mm(one.between_runs_ci95[1])}`,
        },
        numberCell(one.between_cycles, mm),
        numberCell(one.intraclass, (share) => `${fixed(100 * share, 0)} %`),
        numberCell(one.standard_error.flown, mm),
        numberCell(one.standard_error.twice_runs, mm),
        numberCell(one.standard_error.twice_cycles, mm),
        numberCell(one.design_effect, (times) => fixed(times, 1)),
        { text: one.helps },
      ]),
    }),
  ]);
}
