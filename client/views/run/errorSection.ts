import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { SeriesAnswer } from "../../../src/contract/api/runAnswers.ts";
import { element } from "../../app/element.ts";
import { AnswerError, fetchAnswer } from "../../app/fetchAnswer.ts";
import { percentText } from "../../app/words.ts";
import { largeFigure } from "../../figures/largeFigure.ts";
import { timeSeriesFigure } from "../../figures/timeSeriesFigure.ts";
import { brushTime, type TimeBrush } from "./brushTime.ts";
import { errorDecimals, errorFiguresTable } from "./errorFigures.ts";
import { frameWords, type RunPage, subjectWords } from "./RunPage.ts";
import { windowControls } from "./windowControls.ts";
import { windowText } from "./windowText.ts";

type Span = readonly [number, number];

/**
 * Error over time: read it, mark a window by pointer or by keyboard, zoom into it, and see the window's figures as the
 * service computes them from every sample.
 *
 * @param options.marked   the answer for the window that the address holds; null: none
 * @param options.changed  told of a newly marked window once it is marked; null: none is
 * @param options.served   told of that window's answer; null: none
 */
export function errorSection(
  page: RunPage,
  whole: SeriesAnswer,
  options: {
    readonly window: Span | null;
    readonly marked: SeriesAnswer | null;
    readonly changed: (window: Span | null) => void;
    readonly served: (answer: SeriesAnswer | null) => void;
    readonly left: AbortSignal;
  },
): HTMLElement {
  const { run, subject } = page;
  const { hold, cycles } = run.windows;
  const decimals = errorDecimals(page.campaign, subject);
  let { window, marked } = options;
  let shown = whole;
  let brush: TimeBrush;
  let asking = new AbortController();

  const place = element("div", { class: "time-place" });
  const figures = element("div", { class: "window-figures", "aria-live": "polite" });
  const controls = windowControls({
    extent: whole.extent,
    hold,
    cycles,
    mark: (chosen) => void setWindow(chosen),
    clear: () => void setWindow(null),
    zoom: () => {
      if (marked !== null) draw(marked);
    },
    unzoom: () => draw(whole),
    read: (t) => brush.read(t),
  });

  function draw(series: SeriesAnswer): void {
    shown = series;
    const what = `Error of the ${subjectWords[subject]} over time, run ${run.id}`;
    const drawing = timeSeriesFigure(series, {
      tone: page.tone,
      hold,
      cycles,
      gapIntervals: page.campaign.thresholds.gap_intervals ?? 2.5,
      noise: page.campaign.noise?.[subject] ?? null,
      label: `${what}: three panels, x, y and z, ${windowText(series.window)}`,
    });
    brush = brushTime(drawing, series, {
      cycles,
      hold,
      decimals,
      marked: (dragged) => void setWindow(dragged),
      read: controls.readAt,
    });
    const frame = largeFigure(
      {
        name: `${run.id} ${subject} error over time`,
        title: `Error of the ${subjectWords[subject]} over time`,
        caption: captionOf(page, series, drawing.gaps.length),
      },
      drawing,
      { level: 2, wide: true },
    );
    place.replaceChildren(frame);
    brush.mark(window);
    controls.show({
      window,
      shown: series.window,
      zoomed: series !== whole,
      canZoom: marked !== null && marked !== series,
    });
  }

  function tell(): void {
    const series = window === null ? whole : marked;
    if (series === null) return;
    const where = window === null ? "Whole recording" : "Marked window";
    const { figures: own } = series;
    if (page.campaign.blind) {
      figures.replaceChildren(
        element("p", { class: "quiet", text: "Blind: figures of the error wait for the evaluation." }),
      );
      return;
    }
    figures.classList.remove("waiting");
    if (own === null) {
      figures.replaceChildren(
        element("p", { text: `${where} ${windowText(series.window)}: fewer than two samples, so no figures.` }),
      );
      return;
    }
    const valid = percentText(own.valid_fraction).replace("+", "");
    figures.replaceChildren(
      errorFiguresTable(own, {
        name: `${run.id} ${subject} window figures`,
        caption: `${where} ${windowText(series.window)}: n = ${own.n} samples, ${valid} of the time with valid samples`,
        decimals,
      }),
    );
  }

  async function setWindow(chosen: Span | null): Promise<void> {
    asking.abort();
    asking = new AbortController();
    const { signal } = asking;
    window = chosen;
    marked = null;
    brush.mark(chosen);
    options.changed(chosen);
    controls.show({ window, shown: shown.window, zoomed: shown !== whole, canZoom: false });
    if (chosen === null) {
      if (shown !== whole) draw(whole);
      tell();
      options.served(null);
      return;
    }
    figures.classList.add("waiting");
    try {
      const answer = await fetchAnswer<SeriesAnswer>(apiPaths.series(run.id), {
        signal: AbortSignal.any([signal, options.left]),
        query: { subject, from: chosen[0], to: chosen[1] },
      });
      marked = answer;
      tell();
      controls.show({ window, shown: shown.window, zoomed: shown !== whole, canZoom: true });
      options.served(answer);
    } catch (error) {
      if (signal.aborted || options.left.aborted) return;
      if (!(error instanceof AnswerError)) throw error;
      figures.classList.remove("waiting");
      figures.replaceChildren(
        element("p", {
          class: "fault-message",
          role: "alert",
          text: `${error.message}${error.hint ? ` – ${error.hint}` : ""}`,
        }),
      );
    }
  }

  draw(whole);
  tell();
  return element("section", { class: "run-error", "aria-label": "Error over time" }, [place, controls.form, figures]);
}

function captionOf({ campaign, subject }: RunPage, { frame }: SeriesAnswer, gaps: number): string {
  const noise = campaign.noise;
  const known = Object.values(noise?.[subject] ?? {}).some((sd) => sd !== null);
  return [
    `Measured less commanded, in ${frameWords(frame)}; per pixel column the lowest and highest error, so no extreme is hidden.`,
    known ? `Dashed: ± 1 sd of the measurement noise (${noise?.source}).` : "",
    gaps > 0 ? `${gaps === 1 ? "One gap is" : `${gaps} gaps are`} hatched, with ▼ above: nothing is drawn across.` : "",
    "Drag to mark a window.",
  ]
    .filter((part) => part !== "")
    .join(" ");
}
