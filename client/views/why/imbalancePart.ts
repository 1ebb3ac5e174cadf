import { element } from "../../app/element.ts";

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
