import { element } from "../../app/element.ts";
import { readWindow, windowFields, windowText } from "./checksSection.ts";

type Span = readonly [number, number];

export interface WindowState {
  readonly window: Span | null;
  /** what the drawing shows, seconds */
  readonly shown: Span;
  readonly zoomed: boolean;
  readonly canZoom: boolean;
}

export interface WindowControls {
  readonly form: HTMLElement;
  readonly show: (state: WindowState) => void;
  /** moves the slider along with a pointer */
  readonly readAt: (t: number) => void;
}

/** Everything that a pointer can do on the drawing, by keyboard: two fields for the window, a slider for the readout. */
export function windowControls(options: {
  readonly extent: Span;
  readonly hold: Span | null;
  readonly cycles: readonly Span[];
  readonly mark: (window: Span) => void;
  readonly clear: () => void;
  readonly zoom: () => void;
  readonly unzoom: () => void;
  readonly read: (t: number) => string;
}): WindowControls {
  const { extent, hold, cycles } = options;
  const field = (id: string): HTMLInputElement =>
    element("input", {
      id,
      type: "number",
      step: "0.1",
      min: extent[0].toFixed(2),
      max: extent[1].toFixed(2),
      "aria-describedby": "window-wrong",
      autocomplete: "off",
    });
  const [from, to] = [field("window-from"), field("window-to")];
  const wrong = element("p", { id: "window-wrong", class: "wrong", role: "alert" });
  const showFault = (fault: { readonly field: string; readonly wrong: string } | null): void => {
    wrong.textContent = fault?.wrong ?? "";
    for (const [name, input] of [["from", from] as const, ["to", to] as const]) {
      input.toggleAttribute("aria-invalid", false);
      if (fault?.field !== name) continue;
      input.setAttribute("aria-invalid", "true");
      input.focus();
    }
  };
  const button = (text: string, click: () => void): HTMLButtonElement =>
    element("button", { type: "button", text, on: { click } });
  const zoom = button("Zoom to window", options.zoom);
  const unzoom = button("Show whole run", options.unzoom);
  const clear = button("Clear", options.clear);
  const preset = (text: string, window: Span | null): HTMLElement | null =>
    window === null ? null : button(text, () => options.mark(window));
  const first = cycles[0];
  const last = cycles[cycles.length - 1];
  const slider = readSlider(options.read);
  const form = element(
    "form",
    {
      class: "window-controls no-print",
      novalidate: true,
      "aria-label": "Window of time",
      on: {
        submit: (event) => {
          event.preventDefault();
          const typed = readWindow(from.value, to.value, extent);
          showFault("wrong" in typed ? typed : null);
          if ("window" in typed) options.mark(typed.window);
        },
      },
    },
    [
      element("div", { class: "window-fields" }, [
        element("span", { class: "window-name", text: "Window" }),
        element("label", { for: "window-from", text: "from" }),
        from,
        element("label", { for: "window-to", text: "to" }),
        to,
        " s",
        element("button", { type: "submit", text: "Mark" }),
        preset("Hold", hold),
        preset("All cycles", first !== undefined && last !== undefined ? [first[0], last[1]] : null),
        zoom,
        unzoom,
        clear,
      ]),
      element("div", { class: "read-at" }, [element("label", { for: "read-at", text: "Read at" }), slider]),
      wrong,
    ],
  );

  return {
    form,
    readAt: (t) => {
      slider.value = String(t);
    },
    show: ({ window, shown, zoomed, canZoom }) => {
      const fields = windowFields(window ?? shown);
      from.value = fields.from;
      to.value = fields.to;
      wrong.textContent = "";
      // a button that has the focus is not taken away from under it
      const enable = (each: HTMLButtonElement, on: boolean): void => each.setAttribute("aria-disabled", String(!on));
      enable(zoom, canZoom);
      enable(unzoom, zoomed);
      enable(clear, window !== null);
      const at = Number(slider.value);
      const fresh = slider.min === "" || at < shown[0] || at > shown[1];
      [slider.min, slider.max] = [String(shown[0]), String(shown[1])];
      if (fresh) slider.value = String(shown[0]);
      slider.setAttribute("aria-valuetext", windowText(shown));
    },
  };
}

/** The slider that reads the drawing by keyboard: arrows go 400 steps over what is shown, pages 20 at a time. */
function readSlider(read: (t: number) => string): HTMLInputElement {
  const say = (): void => slider.setAttribute("aria-valuetext", read(Number(slider.value)));
  const slider: HTMLInputElement = element("input", {
    id: "read-at",
    type: "range",
    step: "any",
    on: {
      input: say,
      focus: say,
      blur: () => void read(Number.NaN),
      keydown: (event: KeyboardEvent) => {
        const turn = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -20, PageUp: 20 }[event.key];
        if (turn === undefined) return;
        event.preventDefault();
        const [low, high] = [Number(slider.min), Number(slider.max)];
        slider.value = String(Number(slider.value) + (turn * (high - low)) / 400);
        say();
      },
    },
  });
  return slider;
}
