import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { SeriesAnswer } from "../../../src/contract/api/runAnswers.ts";
import { element } from "../../app/element.ts";
import { AnswerError, fetchAnswer } from "../../app/fetchAnswer.ts";
import { percentText } from "../../app/words.ts";
import { largeFigure } from "../../figures/figureFrame.ts";
import { atWidth, likelyWidth } from "../../figures/panels.ts";
import { timeSeriesFigure } from "../../figures/timeSeriesFigure.ts";
import { brushTime, type TimeBrush } from "./brushTime.ts";
import { windowText } from "./checksSection.ts";
import { errorDecimals, errorFiguresTable } from "./errorFigures.ts";
import { axisNamesIn, frameWords, type RunPage, subjectWords } from "./RunPage.ts";
import { windowControls } from "./windowControls.ts";

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
  let width = 0;
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
    const drawing = drawingOf(page, series, width);
    brush = brushTime(drawing, series, {
      cycles,
      hold,
      decimals,
      marked: (dragged) => void setWindow(dragged),
      read: controls.readAt,
    });
    const frame = framed(page, series, drawing);
    place.replaceChildren(frame);
    brush.mark(window);
    controls.show({
      window,
      shown: series.window,
      zoomed: series !== whole,
      canZoom: marked !== null && marked !== series,
    });
  }

  function showFigures(): void {
    const series = window === null ? whole : marked;
    if (series === null) return;
    figures.classList.remove("waiting");
    figures.replaceChildren(figuresOf(page, series, window === null ? "Whole recording" : "Marked window"));
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
      showFigures();
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
      showFigures();
      controls.show({ window, shown: shown.window, zoomed: shown !== whole, canZoom: true });
      options.served(answer);
    } catch (error) {
      if (signal.aborted || options.left.aborted) return;
      if (!(error instanceof AnswerError)) throw error;
      figures.classList.remove("waiting");
      const text = `${error.message}${error.hint ? ` – ${error.hint}` : ""}`;
      figures.replaceChildren(element("p", { class: "fault-message", role: "alert", text }));
    }
  }

  atWidth(
    place,
    (now) => {
      width = now;
      draw(shown);
    },
    likelyWidth(),
  );
  showFigures();
  return element("section", { class: "run-error", "aria-label": "Error over time" }, [place, controls.form, figures]);
}

/** The figures of a stretch; or why there are none. */
function figuresOf({ campaign, run, subject }: RunPage, series: SeriesAnswer, where: string): HTMLElement {
  const { figures } = series;
  if (campaign.blind)
    return element("p", { class: "quiet", text: "Blind: figures of the error wait for the evaluation." });
  const stretch = `${where} ${windowText(series.window)}`;
  if (figures === null) return element("p", { text: `${stretch}: fewer than two samples, so no figures.` });
  const valid = percentText(figures.valid_fraction).replace("+", "");
  return errorFiguresTable(figures, {
    name: `${run.id} ${subject} window figures`,
    caption: `${stretch}: n = ${figures.n} samples, ${valid} of the time with valid samples`,
    decimals: errorDecimals(campaign, subject),
  });
}

function drawingOf({ campaign, run, subject, tone }: RunPage, series: SeriesAnswer, width: number) {
  const { hold, cycles } = run.windows;
  const what = `Error of the ${subjectWords[subject]} over time, run ${run.id}`;
  return timeSeriesFigure(series, {
    width,
    tone,
    hold,
    cycles,
    gapIntervals: campaign.thresholds.gap_intervals ?? 2.5,
    noise: campaign.noise?.[subject] ?? null,
    names: axisNamesIn({ campaign }, series.frame),
    label: `${what}: three panels, x, y and z, ${windowText(series.window)}`,
  });
}

function framed(page: RunPage, series: SeriesAnswer, drawing: ReturnType<typeof timeSeriesFigure>): HTMLElement {
  const { run, subject } = page;
  return largeFigure(
    {
      name: `${run.id} ${subject} error over time`,
      how: "methods.html#bias-sd-rms",
      title: `Error of the ${subjectWords[subject]} over time`,
      caption: captionOf(page, series, drawing.gaps.length),
    },
    drawing,
    { level: 2, wide: true },
  );
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
