import type { CyclesAnswer, SeriesAnswer } from "../../../src/contract/api/runAnswers.ts";
import { element } from "../../app/element.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { phaseFigure } from "../../figures/phaseFigure.ts";
import { vectorFigure } from "../../figures/vectorFigure.ts";
import { axisNamesIn, frameWords, type RunPage, subjectWords } from "./RunPage.ts";

/** Error over cycle phase; says so where the run has no cycles. */
export function phaseSection(page: RunPage, answer: CyclesAnswer | null): HTMLElement {
  const { run, subject } = page;
  if (answer === null || answer.cycles.length === 0) return nothing("Error over cycle phase", noCycles(page));
  const count = answer.cycles.length;
  return element("section", { class: "run-phase", "aria-label": "Error over cycle phase" }, [
    figureFrame(
      {
        name: `${run.id} ${subject} error over cycle phase`,
        how: "methods.html#error-over-cycle-phase",
        title: `Error of the ${subjectWords[subject]} over cycle phase`,
        caption: `Thin: each of the ${count} cycles, in ${frameWords(answer.frame)}; thick: their mean. What the thin lines share is synchronous with the arm; what parts them is not.`,
      },
      (width) =>
        phaseFigure(answer, {
          width,
          tone: page.tone,
          names: axisNamesIn(page, answer.frame),
          label: `Error of the ${subjectWords[subject]} over cycle phase, run ${run.id}: ${count} cycles and their mean, x, y and z`,
        }),
      { level: 2, wide: true },
    ),
  ]);
}

/** Synchronous vectors of the run. */
export function vectorSection(page: RunPage): HTMLElement {
  const { run, subject } = page;
  const split = run.synchronous?.[subject];
  if (split === undefined) return nothing("Synchronous vectors", noCycles(page));
  return element("section", { class: "run-vectors", "aria-label": "Synchronous vectors" }, [
    figureFrame(
      {
        name: `${run.id} ${subject} synchronous vectors`,
        how: "methods.html#synchronous-part",
        title: `Synchronous vectors of the ${subjectWords[subject]}`,
        caption:
          "The part of the error at the cycle rate (harmonic 1, solid) and at twice it (harmonic 2, dashed), as a cos(kθ + φ): length a, angle φ anticlockwise from the right; ellipse: 95 % confidence. Where the ellipse holds the centre the phase is open.",
      },
      (width) =>
        vectorFigure(split, {
          width,
          tone: page.tone,
          label: `Synchronous vectors of the ${subjectWords[subject]}, run ${run.id}: polar plots for x, y and z`,
        }),
      { level: 2, wide: true },
    ),
  ]);
}

function noCycles({ run, trajectory }: RunPage): string {
  if (run.windows.cycles.length === 1) return "One cycle only: what repeats cannot be separated from what does not.";
  if (trajectory?.shape === "hold") return "This trajectory holds still: it has no cycles.";
  return "No whole cycles were found in this run; the checks say why.";
}

function nothing(title: string, why: string): HTMLElement {
  return element("section", {}, [element("h2", { text: title }), element("p", { class: "quiet", text: why })]);
}

type Span = readonly [number, number];

/** more cycles than this over one another are a smear */
const mostCycles = 24;

interface PathWindow {
  readonly window: Span | null;
  readonly text: string;
}

/**
 * The stretch whose path is drawn: the marked window; else the cycles, of many only the first; else the hold; else all.
 */
export function pathWindow(marked: Span | null, cycles: readonly Span[], hold: Span | null): PathWindow {
  if (marked !== null) return { window: marked, text: "the marked window" };
  const first = cycles[0];
  if (first !== undefined) {
    const count = Math.min(cycles.length, mostCycles);
    const last = cycles[count - 1]!;
    const text = count < cycles.length ? `cycles 1 to ${count} of ${cycles.length}` : `all ${count} cycles`;
    return { window: [first[0], last[1]], text };
  }
  return hold === null ? { window: null, text: "the whole recording" } : { window: hold, text: "the hold window" };
}

/**
 * Whether a cycle holds fewer points than `points`; false where nothing repeats.
 *
 * @param instants  of the points, seconds
 */
export function isCoarse(instants: readonly number[], period: number | null, points: number): boolean {
  if (period === null || instants.length < 2) return false;
  const mean = (instants[instants.length - 1]! - instants[0]!) / (instants.length - 1);
  return mean > period / points;
}

/** The part of a path within a window, to its end not included; what the cut leaves without a point is left out. */
export function cropPath(path: SeriesAnswer["path"], [from, to]: Span): SeriesAnswer["path"] {
  const crop = (lines: SeriesAnswer["path"]["measured"]): SeriesAnswer["path"]["measured"] =>
    lines.flatMap((line) => {
      const a = line.t.findIndex((t) => t >= from);
      if (a < 0) return [];
      const end = line.t.findIndex((t) => t >= to);
      const b = end < 0 ? line.t.length : end;
      if (b <= a) return [];
      return [{ t: line.t.slice(a, b), x: line.x.slice(a, b), y: line.y.slice(a, b), z: line.z.slice(a, b) }];
    });
  return { measured: crop(path.measured), command: crop(path.command) };
}
