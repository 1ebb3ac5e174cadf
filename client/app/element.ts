type Child = Node | string | null | undefined | false;

export interface Attributes {
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
