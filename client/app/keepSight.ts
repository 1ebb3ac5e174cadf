/**
 * What a reader has before them on a page, so that the same page drawn again can be put in its place without taking it away:
 * how far they scrolled, where the focus is, which details are open.
 *
 * @returns puts the sight back upon the new page
 */
export function keepSight(page: HTMLElement): (fresh: HTMLElement) => void {
  const { scrollX, scrollY } = window;
  const active = document.activeElement;
  const focused = active instanceof HTMLElement && page.contains(active) ? keyOf(page, active) : null;
  const open = new Set([...page.querySelectorAll("details[open]")].map((details) => keyOf(page, details)));
  const scrolled = [...page.querySelectorAll<HTMLElement>(".scroll")].map((part) => part.scrollLeft);
  return (fresh) => {
    for (const details of fresh.querySelectorAll("details")) {
      if (open.has(keyOf(fresh, details))) details.open = true;
    }
    fresh.querySelectorAll<HTMLElement>(".scroll").forEach((part, k) => {
      part.scrollLeft = scrolled[k] ?? 0;
    });
    if (focused !== null) {
      const again = [...fresh.querySelectorAll<HTMLElement>(focusable)].find((part) => keyOf(fresh, part) === focused);
      again?.focus({ preventScroll: true });
    }
    window.scrollTo(scrollX, scrollY);
  };
}

const focusable = "a[href], button, input, select, textarea, summary, [tabindex]";

/** Knows a part of a page again on the page drawn again: by its id or address, else by its words and which of its like it is. */
function keyOf(page: HTMLElement, part: Element): string {
  if (part.id !== "") return `#${part.id}`;
  const words = (each: Element): string =>
    each.getAttribute("href") ??
    each.getAttribute("aria-label") ??
    each.querySelector("summary")?.textContent ??
    each.textContent ??
    "";
  const like = [...page.querySelectorAll(part.tagName)].filter((each) => words(each) === words(part));
  return `${part.tagName} ${words(part)} ${like.indexOf(part)}`;
}
