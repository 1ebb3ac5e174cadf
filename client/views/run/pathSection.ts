import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { SeriesAnswer } from "../../../src/contract/api/runAnswers.ts";
import { type Axis, axes } from "../../../src/foundation/tracks.ts";
import { element } from "../../app/element.ts";
import { AnswerError, fetchAnswer } from "../../app/fetchAnswer.ts";
import { fixed } from "../../app/words.ts";
import type { Drawing } from "../../figures/Figure.ts";
import { largeFigure } from "../../figures/figureFrame.ts";
import { pathExtent, pathFigure, pathViews } from "../../figures/pathFigure.ts";
import { cropPath, isCoarse } from "./cycleSections.ts";
import { axisNamesIn, frameWords, type RunPage, subjectWords } from "./RunPage.ts";

/** the most columns the service draws, as in src/contract/api/queries.ts, which the bundle does not hold */
const pointsLimit = 4000;

export interface PathSection {
  readonly section: HTMLElement;
  /** draws the path within a window out of an answer that holds it; `text` names the window */
  readonly show: (answer: SeriesAnswer, window: readonly [number, number], text: string) => void;
}

/**
 * The path against its command, in the trajectory's plane and in elevation. What was thinned for a drawing over time may
 * be too coarse for it: it is drawn at once, and again when the finer one has come.
 */
export function pathSection(page: RunPage, left: AbortSignal): PathSection {
  const { run, subject, trajectory } = page;
  const section = element("section", { class: "run-path", "aria-label": "Path against its command" });
  let asking = new AbortController();

  const draw = (answer: SeriesAnswer, text: string): void => {
    const origin = originOf(answer.path);
    const drawing = (width: number): Drawing =>
      pathFigure(answer.path, pathViews(trajectory ?? { plane: null, axis: null }), {
        width,
        tone: page.tone,
        names: axisNamesIn(page, answer.frame),
        origin,
        label: `Path of the ${subjectWords[subject]} against its command, run ${run.id}, ${text}: two views with equal scales`,
      });
    section.replaceChildren(
      largeFigure(
        {
          name: `${run.id} ${subject} path`,
          title: `Path of the ${subjectWords[subject]} against its command`,
          caption: captionOf(page, answer, origin, text),
        },
        drawing,
        { level: 2, wide: true },
      ),
    );
  };

  const refine = async (window: readonly [number, number], text: string): Promise<void> => {
    const { signal } = asking;
    try {
      const finer = await fetchAnswer<SeriesAnswer>(apiPaths.series(run.id), {
        signal: AbortSignal.any([signal, left]),
        query: { subject, from: window[0], to: window[1], points: pointsLimit },
      });
      draw(finer, text);
    } catch (error) {
      // the coarse one stands
      if (!signal.aborted && !left.aborted && !(error instanceof AnswerError)) throw error;
    }
  };

  return {
    section,
    show: (answer, window, text) => {
      asking.abort();
      asking = new AbortController();
      draw({ ...answer, path: cropPath(answer.path, window) }, text);
      if (isCoarse(instantsOf(answer), run.period, fine)) void refine(window, text);
    },
  };
}

/** points a cycle must have so that its corners are not seen */
const fine = 64;
/** points a cycle must have to be a path, and no polygon of its extremes */
const least = 16;

const instantsOf = ({ path }: SeriesAnswer): number[] => path.measured.flatMap(({ t }) => t);

function captionOf(page: RunPage, answer: SeriesAnswer, origin: Readonly<Record<Axis, number>>, text: string): string {
  const declared = page.campaign.signals.effector_command?.frame;
  const from = axes.map((axis) => `${axis} ${fixed(origin[axis], 3)}`).join(", ");
  return [
    `${text.charAt(0).toUpperCase()}${text.slice(1)}, in ${frameWords(answer.frame)}; one scale for both directions and both views, measured from ${from} m.`,
    declared !== undefined && declared !== answer.frame && page.subject !== "vehicle"
      ? `The trajectory is declared in the frame ${declared}; its plane is drawn as that of ${frameWords(answer.frame)}.`
      : "",
    isCoarse(instantsOf(answer), page.run.period, least)
      ? "So long a window is thinned to the extremes of its columns: mark a shorter one to see the path itself."
      : "",
    answer.path.measured.length > 1 ? "Gaps in the recording are left open." : "",
  ]
    .filter((part) => part !== "")
    .join(" ");
}

/** The middle of the command, of the path without one, to the millimetre. */
function originOf({ command, measured }: SeriesAnswer["path"]): Record<Axis, number> {
  const middle = (axis: Axis): number => {
    const [low, high] = pathExtent(command, axis) ?? pathExtent(measured, axis) ?? [0, 0];
    return Math.round(500 * (low + high)) / 1e3;
  };
  return { x: middle("x"), y: middle("y"), z: middle("z") };
}
