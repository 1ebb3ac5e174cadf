import type { Place } from "./View.ts";

/** Left and right arrow lead to the page before and after, unless the keys belong to what has the focus. */
export function walkPages(
  { before, after }: { before: Place | undefined; after: Place | undefined },
  go: (place: Place) => void,
  left: AbortSignal,
): void {
  document.addEventListener(
    "keydown",
    (event) => {
      if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey || event.defaultPrevented) return;
      const target = event.target as Element;
      if (target.closest("input, textarea, select, dialog, .scroll, [role=slider]") !== null) return;
      const to = event.key === "ArrowLeft" ? before : event.key === "ArrowRight" ? after : undefined;
      if (to === undefined) return;
      event.preventDefault();
      go(to);
    },
    { signal: left },
  );
}
