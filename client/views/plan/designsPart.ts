import type { Plan } from "../../../src/contract/plan.ts";
import { element } from "../../app/element.ts";
import { fixed, probabilityValue } from "../../app/words.ts";
import { figuresTable, numberCell } from "../run/figuresTable.ts";

/** The smallest p that designs could ever give, before they are flown. */
export function designsPart({ designs, level, family }: Plan): HTMLElement {
  return element("section", { class: "plan-designs" }, [
    element("h2", { text: "What a design could ever show" }),
    element("p", {
      class: "reading",
      text: `Dealing out the labels anew within blocks needs no assumption, but gives no p below one over the number of ways (twice that where both configurations have equal numbers). A design that cannot fall below 0.05 leaves every claim fragile. Level of one cell among ${family}: ${fixed(level, 4)}.`,
    }),
    element("details", {}, [
      element("summary", { text: "Least p by runs and blocks" }),
      figuresTable({
        name: "designs",
        caption: "Least p that dealing out the labels anew could give",
        columns: [
          "runs per configuration",
          "blocks",
          "ways",
          "least p",
          "can fall below 0.05",
          "below the level of one cell",
        ],
        rows: designs.map((design) => [
          { text: String(design.runs_per_configuration), value: design.runs_per_configuration },
          numberCell(design.blocks, String),
          numberCell(design.arrangements, (ways) => (ways < 1e6 ? String(ways) : ways.toExponential(1))),
          { text: probabilityValue(design.p_least), value: design.p_least },
          { text: design.can_reach ? "yes" : "no" },
          { text: design.can_reach_family ? "yes" : "no" },
        ]),
      }),
    ]),
  ]);
}
