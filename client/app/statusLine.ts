import { element } from "./element.ts";
import type { StatusWords } from "./statusWords.ts";

const signs: Readonly<Record<StatusWords["kind"], string>> = { working: "…", stale: "!", failed: "!", lost: "!" };

export interface StatusLine {
  readonly line: HTMLElement;
  readonly show: (words: StatusWords | null) => void;
}

/** The thin line above the page that says what the service is doing; empty while all is quiet. */
export function statusLine(): StatusLine {
  const line = element("div", { class: "status", role: "status" });
  let shown = "";
  return {
    line,
    show: (words) => {
      const now = words === null ? "" : [words.kind, words.text, ...words.details].join("\n");
      // said anew only where it changed: it is read out
      if (now === shown) return;
      shown = now;
      line.dataset.kind = words?.kind ?? "";
      line.replaceChildren();
      if (words === null) return;
      line.append(
        element("span", { class: "status-sign", "aria-hidden": "true", text: signs[words.kind] }),
        element("span", { text: words.text }),
        ...words.details.map((text) => element("span", { class: "status-detail", text })),
      );
    },
  };
}
