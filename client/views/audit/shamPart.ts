import { measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Audit } from "../../../src/contract/audit.ts";
import { unitName } from "../../../src/words/amounts.ts";
import { element } from "../../app/element.ts";
import { intervalText, noValue, probabilityValue, signedAmount } from "../../app/words.ts";
import { figuresTable, type TableCell } from "../run/figuresTable.ts";
import { configurationLabel } from "../why/configurationLabel.ts";

type Contrast = Audit["sham"][number]["balancing"];

/** What balancing does at the same mass, and what the mass alone does; nothing where no sham is declared. */
export function shamPart(campaign: CampaignView, sham: Audit["sham"]): HTMLElement | null {
  if (campaign.sham === null) return null;
  const label = configurationLabel(campaign, campaign.sham);
  const si = measureOf(campaign.primary).unit;
  const unit = unitName(si);
  const contrast = ({ difference, ci95, p, runs }: Contrast): TableCell[] => [
    { text: signedAmount(difference, si, 2), value: difference },
    { text: ci95 === null ? noValue : intervalText(ci95, si, 2) },
    { text: probabilityValue(p), value: p },
    { text: `${runs[0]} v ${runs[1]}` },
  ];
  return element("section", { class: "audit-sham" }, [
    element("h2", { text: "Balance, or mass?" }),
    element("p", {
      class: "reading",
      text: `${label} carries the same mass at the centre of mass. Against it, the candidate shows what balancing does; it against the baseline, what the mass does. Exploratory: no verdicts; p is of each comparison alone.`,
    }),
    figuresTable({
      name: "sham comparison",
      caption: "Candidate less sham (balancing), sham less baseline (mass)",
      columns: [
        "cell",
        `balancing, ${unit}`,
        "95 % interval",
        "p",
        "runs",
        `mass, ${unit}`,
        "95 % interval of the mass",
        "p of the mass",
        "runs for the mass",
      ],
      rows: sham.map((one) => [
        { text: `${one.trajectory} ${one.subject} ${one.axis}` },
        ...contrast(one.balancing),
        ...contrast(one.mass),
      ]),
    }),
  ]);
}
