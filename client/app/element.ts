import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { placeWords } from "../../src/words/places.ts";

type Child = Node | string | null | undefined | false;

interface Attributes {
  readonly class?: string;
  readonly text?: string | number | null;
  readonly on?: { readonly [E in keyof HTMLElementEventMap]?: (event: HTMLElementEventMap[E]) => void };
  readonly data?: Readonly<Record<string, string>>;
  /** any other attribute; true writes it without a value, null and false leave it out */
  readonly [attribute: string]: unknown;
}

/**
 * An element of the page with its attributes, listeners and children. Text is set as text, never read as markup: names and
 * reasons come from people and logs.
 *
 * @example element("p", { class: "quiet", text: "no runs yet" })
 * @example element("ul", {}, [element("li", { text: "one" })])
 */
export function element<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  attributes: Attributes = {},
  children: readonly Child[] = [],
): HTMLElementTagNameMap[Tag] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "text") made.textContent = value === null ? "" : String(value);
    else if (name === "class") made.className = String(value);
    else if (name === "data") Object.assign(made.dataset, value);
    else if (name === "on") {
      for (const [event, listener] of Object.entries(value as object)) {
        made.addEventListener(event, listener as EventListener);
      }
    } else if (value !== null && value !== undefined && value !== false) {
      made.setAttribute(name, value === true ? "" : String(value));
    }
  }
  made.append(...children.filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/** The configuration's own label, as its builder gave it. */
export function labelOf(campaign: CampaignView, configuration: string): string {
  return campaign.configurations.find(({ name }) => name === configuration)?.label || configuration;
}

/** @example placeName(cell) // => "orbit, vehicle along y" */
export function placeName({
  trajectory,
  subject,
  axis,
  judged_in = "world",
  axis_name = null,
}: Pick<Cell, "trajectory" | "subject" | "axis"> & Partial<Pick<Cell, "judged_in" | "axis_name">>): string {
  return `${trajectory}, ${placeWords(subject, [axis], judged_in, { [axis]: axis_name })}`;
}

/** A name as it fits beside a drawing; the table under it holds the whole of it. */
export function shortName(text: string, most: number): string {
  const letters = [...text];
  return letters.length <= most
    ? text
    : `${letters
        .slice(0, most - 1)
        .join("")
        .trimEnd()}…`;
}

/** A word of a person's choice at the head of a line. */
export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

const heard = "counterpoise-notice";
/** long enough to be read twice, milliseconds */
const stays = 12_000;

/** Says what became of something the reader did. It outlives the page, which a new evaluation draws again. */
export function notify(text: string): void {
  document.dispatchEvent(new CustomEvent<string>(heard, { detail: text }));
}

/** Where notices appear. */
export function noticeLine(): HTMLElement {
  const line = element("div", { class: "notice", role: "status" });
  let timer: ReturnType<typeof setTimeout> | undefined;
  document.addEventListener(heard, (event) => {
    clearTimeout(timer);
    line.textContent = (event as CustomEvent<string>).detail;
    timer = setTimeout(() => {
      line.textContent = "";
    }, stays);
  });
  return line;
}
