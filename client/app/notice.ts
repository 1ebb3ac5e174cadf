import { element } from "./element.ts";

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
