import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { ReasonsAnswer } from "../../../src/contract/api/cellAnswers.ts";
import type { MovingEffect } from "../../../src/contract/reasons.ts";
import { element } from "../../app/element.ts";
import { roleSigns } from "../../app/statusWords.ts";
import { fixed, noValue } from "../../app/words.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { movingFigure } from "../../figures/movingFigure.ts";
import { figuresTable } from "../run/figuresTable.ts";

/** What the counterweights did, apart from what their mass did: the service's sentences, and what moves as flown. */
export function movingPart(
  campaign: CampaignView,
  effects: readonly MovingEffect[],
  sentences: ReasonsAnswer["moving"],
): HTMLElement {
  const head = element("h2", { text: "What the counterweights did, apart from what their mass did" });
  const words = paragraphs(sentences);
  if (effects.length === 0) {
    const why =
      "What moves cannot be seen: it takes the vehicle's position and attitude and the tool from one capture, an arm that travels along a horizontal axis, and five cycles or more.";
    return element("section", {}, [
      head,
      ...(words.length > 0 ? words : [element("p", { class: "quiet", text: why })]),
    ]);
  }
  const { baseline, candidate, sham } = campaign;
  const roles = new Map([
    [baseline, "baseline" as const],
    [candidate, "candidate" as const],
    ...(sham === null ? [] : [[sham, "sham" as const] as const]),
  ]);
  const keys = [...new Set([...roles.keys(), ...effects.flatMap(({ configurations }) => Object.keys(configurations))])];
  const names = keys.map((key) => ({
    key,
    label: configurationLabel(campaign, key),
    role: roles.get(key) ?? ("other" as const),
  }));
  return element("section", { class: "why-moving" }, [
    head,
    ...words,
    // grams and shares of the whole have no common scale
    ...[...new Set(effects.map(({ unit }) => unit))].map((unit) =>
      figureFrame(
        {
          name: unit === "kg" ? "apparent moving mass" : "apparent moving mass, share of the whole",
          how: "methods.html#what-moves",
          title: "What moves, as flown",
          caption:
            "Apparent moving mass along each horizontal axis of the vehicle: what moves times its travel, over the tool's travel. Zero: balanced; below zero: over-balanced. Dots: runs; box and line: mean with its 95 % interval; diamond: what the declared masses make.",
        },
        (width) =>
          movingFigure(
            effects.filter((effect) => effect.unit === unit),
            names,
            {
              width,
              label: "Apparent moving mass per axis and configuration, with 95 % intervals",
            },
          ),
        { level: 3, wide: true },
      ),
    ),
    budgetTable(effects),
  ]);
}

/** Sentences, each with its list. */
export function paragraphs(sentences: ReasonsAnswer["moving"]): (HTMLElement | null)[] {
  return sentences.flatMap(({ text, items }) => [
    element("p", { class: "reading", text }),
    items.length === 0
      ? null
      : element(
          "ul",
          { class: "reading" },
          items.map((item) => element("li", { text: item })),
        ),
  ]);
}

/** What no interval over runs shows. */
function budgetTable(effects: readonly MovingEffect[]): HTMLElement {
  const rows = effects.flatMap((effect) =>
    effect.budget.map(({ what, effect: size, cancels }) => [
      { text: `${effect.trajectory} ${effect.axis}` },
      { text: what },
      { text: effect.unit === "kg" ? `${fixed(1000 * size, 1)} g` : `${fixed(100 * size, 2)} %` },
      { text: cancels ? "nearly" : "no" },
    ]),
  );
  if (rows.length === 0) return element("p", { class: "quiet", text: noValue });
  return figuresTable({
    name: "uncertainty of the moving mass",
    caption:
      "By how much the baseline's figure may be off for reasons that no interval over runs shows, and whether that cancels in the share taken away",
    columns: ["what moves", "if off by", "figure off by", "cancels in the share"],
    rows,
  });
}

/** What is left to balance, in the service's own sentences: a suggestion with its cautions. */
export function imbalancePart(sentences: readonly string[], saidAbove: boolean): HTMLElement {
  return element("section", { class: "why-imbalance" }, [
    element("h2", { text: "What is left to balance: a suggestion" }),
    ...(sentences.length === 0
      ? [
          element("p", {
            class: "quiet",
            text: saidAbove
              ? "Said above, from what moves: displacement has mass and controller in it."
              : "Nothing can be suggested: it takes at least two counterweight settings with known masses and places (counterweights in the manifest), flown at least twice each.",
          }),
        ]
      : sentences.map((text) => element("p", { class: "reading", text }))),
  ]);
}

/** A configuration as a person reads it; its key where no label is declared. */
export function configurationLabel(campaign: CampaignView, name: string): string {
  return campaign.configurations.find((one) => one.name === name)?.label || name;
}

/** Its label behind the sign of its role. */
export function signedLabel(campaign: CampaignView, name: string): string {
  const role = campaign.configurations.find((one) => one.name === name)?.role ?? "other";
  return `${roleSigns[role]} ${configurationLabel(campaign, name)}`;
}
