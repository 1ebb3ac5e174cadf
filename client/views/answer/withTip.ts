import { element } from "../../app/element.ts";

let count = 0;

/** A word that says more while it is pointed at or has the focus. Escape puts the saying away. */
export function withTip(word: string, saying: string): HTMLElement {
  const id = `tip-${++count}`;
  const tip = element("span", { class: "tip", role: "tooltip", id, text: saying });
  const place = element("span", { class: "with-tip" }, [
    element("button", { type: "button", class: "plain mark", text: word, "aria-describedby": id }),
    tip,
  ]);
  const show = (shown: boolean): void => {
    place.classList.toggle("shown", shown);
  };
  place.addEventListener("pointerenter", () => show(true));
  place.addEventListener("pointerleave", () => show(place.contains(document.activeElement)));
  place.addEventListener("focusin", () => show(true));
  place.addEventListener("focusout", () => show(false));
  place.addEventListener("keydown", (event) => {
    if (event.key === "Escape") show(false);
  });
  return place;
}
