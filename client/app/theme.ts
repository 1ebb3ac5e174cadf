import { element } from "./element.ts";

type Theme = "light" | "dark";
const key = "theme";
let watching = new AbortController();

/** Takes up the theme the reader chose before; without a choice the system's holds. */
export function applyTheme(): void {
  const chosen = remembered();
  if (chosen !== null) document.documentElement.dataset.theme = chosen;
}

/** A switch between light and dark, remembered on this machine. */
export function themeSwitch(): HTMLElement {
  const words = (): string => (current() === "dark" ? "Light page" : "Dark page");
  const button = element("button", {
    type: "button",
    class: "plain",
    text: words(),
    on: {
      click: () => {
        const next: Theme = current() === "dark" ? "light" : "dark";
        document.documentElement.dataset.theme = next;
        remember(next);
        button.textContent = words();
      },
    },
  });
  // without a choice the page follows the system, and so does the switch; a header drawn again takes the place of the old
  watching.abort();
  watching = new AbortController();
  matchMedia("(prefers-color-scheme: dark)").addEventListener(
    "change",
    () => {
      button.textContent = words();
    },
    { signal: watching.signal },
  );
  return button;
}

function current(): Theme {
  const { theme } = document.documentElement.dataset;
  if (theme === "light" || theme === "dark") return theme;
  return matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
}

function remembered(): Theme | null {
  try {
    const kept = localStorage.getItem(key);
    return kept === "light" || kept === "dark" ? kept : null;
  } catch {
    // a browser may keep nothing; the page then follows the system
    return null;
  }
}

function remember(theme: Theme): void {
  try {
    localStorage.setItem(key, theme);
  } catch {
    // as above: the choice then lasts as long as the page
  }
}
