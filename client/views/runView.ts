import "../style/run.css";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { CellsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type {
  CyclesAnswer,
  HoverAnswer,
  RunAnswer,
  RunRow,
  RunsAnswer,
  SeriesAnswer,
} from "../../src/contract/api/runAnswers.ts";
import { type Axis, axes, type Subject, subjects } from "../../src/foundation/tracks.ts";
import { addressOf } from "../app/address.ts";
import { element } from "../app/element.ts";
import { AnswerError, fetchAnswer } from "../app/fetchAnswer.ts";
import type { Place, View } from "../app/View.ts";
import { fixed, lengthText } from "../app/words.ts";
import { allanFigure } from "../figures/allanFigure.ts";
import { largeFigure } from "../figures/figureFrame.ts";
import { checksSection, clampWindow, windowText } from "./run/checksSection.ts";
import { pathWindow, phaseSection, vectorSection } from "./run/cycleSections.ts";
import { errorSection } from "./run/errorSection.ts";
import { hoverSection } from "./run/hoverSection.ts";
import { pathSection } from "./run/pathSection.ts";
import { type RunPage, runPage, subjectSwitch, subjectWords } from "./run/RunPage.ts";
import { runHeadline } from "./run/runHeadline.ts";
import { countsIn, runNeighbours } from "./run/runPlaces.ts";
import { clockSection, settingsSection } from "./run/settingsSection.ts";
import { spectrumSection } from "./run/spectrumSection.ts";
import { standardPathSection } from "./run/standardPathSection.ts";
import { budgetSection, trackingSection } from "./run/trackingSection.ts";

/** The run to set another beside: used, of the other configuration, flown alike, in the same block and next to it where there is one. */
export function runBeside(
  runs: readonly RunRow[],
  { baseline, candidate, blind }: Pick<CampaignView, "baseline" | "candidate" | "blind">,
  id: string,
): string | null {
  const run = runs.find((one) => one.id === id);
  if (blind || run === undefined || run.cycles === 0) return null;
  const others = runs.filter(
    ({ used, cycles, trajectory, configuration }) =>
      used &&
      cycles > 0 &&
      trajectory === run.trajectory &&
      configuration === (run.configuration === candidate ? baseline : candidate),
  );
  const away = ({ block, order }: RunRow): number => (block === run.block ? 0 : 1e6) + Math.abs(order - run.order);
  return others.sort((a, b) => away(a) - away(b))[0]?.id ?? null;
}

/** A run that is none, and those there are. */
function noSuchRun(id: string, runs: readonly RunRow[], subject: Subject): HTMLElement[] {
  return [
    element("h1", { text: `There is no run ${id}`, tabindex: "-1" }),
    element("p", {
      role: "alert",
      text: `Found the run “${id}” in the address, expected one of the campaign's ${runs.length}:`,
    }),
    element(
      "ul",
      { class: "all-runs" },
      runs.map((run) =>
        element("li", {}, [
          element("a", { href: addressOf({ page: "run", run: run.id, subject, window: null }), text: run.id }),
        ]),
      ),
    ),
  ];
}

/** What of a run cannot be drawn, and leaves the rest of its page standing. */
const missing = new Set(["nothing-to-draw", "unknown-subject"]);

/** A run on one page: how it flew, how far it can be trusted, and what its figures rest on. */
export const runView: View = async (root, context) => {
  const { campaign, place, note, left } = context;
  if (place.page !== "run") return;
  const { run: id, subject } = place;
  const loading = element("p", { class: "quiet loading", role: "status", text: `Reading run ${id} …` });
  root.append(loading);
  const series = (window: readonly [number, number] | null): Promise<SeriesAnswer> =>
    fetchAnswer(apiPaths.series(id), { signal: left, query: { subject, from: window?.[0], to: window?.[1] } });
  const [answer, { runs }, { cells }] = await Promise.all([
    fetchAnswer<RunAnswer>(apiPaths.run(id), { signal: left }).catch((error: unknown) => {
      if (error instanceof AnswerError && error.code === "unknown-run") return null;
      throw error;
    }),
    fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left }),
    campaign.blind
      ? { cells: [] }
      : fetchAnswer<CellsAnswer>(apiPaths.cells, { signal: left, query: { metric: campaign.primary } }),
  ]);
  if (answer === null) {
    loading.replaceWith(...noSuchRun(id, runs, subject));
    return;
  }
  // without an instant to count from nothing was read of the log: what the service would say is known
  const nothing = answer.run.epoch === null ? unread(answer) : null;
  const asked = <T>(ask: () => Promise<T>): Promise<T | AnswerError> =>
    nothing === null ? settled(ask()) : Promise.resolve(nothing);
  // at once: none waits for another
  const drawn = {
    whole: asked(() => series(null)),
    cycles: asked(() => fetchAnswer<CyclesAnswer>(apiPaths.cycles(id), { signal: left, query: { subject } })),
    hover: asked(() => fetchAnswer<HoverAnswer>(apiPaths.hover(id), { signal: left, query: { subject } })),
  };
  const page = runPage(campaign, answer, subject);
  const { cycles: cycleWindows, hold } = answer.run.windows;
  const whole = await drawn.whole;
  // an address may hold a window of another run
  const wanted = place.window === null || whole instanceof AnswerError ? null : clampWindow(place.window, whole.extent);
  const lost = place.window !== null && wanted === null && !(whole instanceof AnswerError);
  let here: Place & { page: "run" } = lost ? { ...place, window: null } : place;
  if (lost) note(here);
  const present = subjectsOf(answer, campaign.subjects);
  const switchHere = (): HTMLElement => subjectSwitch(present, subject, (chosen) => ({ ...here, subject: chosen }));
  let subjectLinks = switchHere();
  const head = [
    runNeighbours(runs, place, context),
    runHeadline(page, runBeside(runs, campaign, id)),
    countsIn(cells, id),
    checksSection(answer.run.checks),
    subjectLinks,
  ].filter((part) => part !== null);
  const foot = [...(campaign.blind ? [] : [trackingSection(page)]), clockSection(answer.run), settingsSection(page)];
  if (whole instanceof AnswerError) {
    loading.replaceWith(...head, nothingToDraw(whole), ...foot);
    return;
  }
  const marked = wanted === null ? null : await settled(series(wanted));
  const path = pathSection(page, left);
  const showPath = (served: SeriesAnswer | null): void => {
    const { window, text } = pathWindow(served?.window ?? null, cycleWindows, hold);
    path.show(served ?? whole, window ?? whole.window, text);
  };
  const ofWindow = marked instanceof AnswerError ? null : marked;
  const error = errorSection(page, whole, {
    window: ofWindow === null ? null : ofWindow.window,
    marked: ofWindow,
    changed: (window) => {
      here = { ...here, window };
      note(here);
      // the other subjects are then shown in the same window
      const links = switchHere();
      subjectLinks.replaceWith(links);
      subjectLinks = links;
    },
    served: showPath,
    left,
  });
  showPath(ofWindow);
  const [cycles, hover] = await Promise.all([drawn.cycles, drawn.hover]);
  loading.replaceWith(
    ...head,
    ...(lost ? [elsewhere(place.window!, whole.extent)] : []),
    error,
    path.section,
    phaseSection(page, cycles instanceof AnswerError ? null : cycles),
    // blind: a run's own curves are drawn, figures of its error wait for the evaluation
    ...(campaign.blind ? [] : [vectorSection(page)]),
    spectrumSection(page),
    ...(campaign.blind
      ? []
      : [
          budgetSection(page),
          standardPathSection(page),
          hoverSection(page, hover instanceof AnswerError ? null : hover),
        ]
    ).filter((section) => section !== null),
    stabilitySection(page),
    ...foot,
  );
};

/**
 * An answer, or the reason why there is nothing to draw; any other fault is the page's.
 *
 * A fault is kept until the promise is awaited, and is thrown there.
 */
function settled<T>(asked: Promise<T>): Promise<T | AnswerError> {
  const kept = asked.catch((error: unknown) => {
    if (error instanceof AnswerError && missing.has(error.code)) return error;
    throw error;
  });
  kept.catch(() => {});
  return kept;
}

function unread({ run }: RunAnswer): AnswerError {
  const why = run.checks.find(({ severity }) => severity === "unusable");
  return new AnswerError({
    code: "nothing-to-draw",
    message: why?.message ?? "nothing of this run's log could be read",
    ...(why === undefined ? {} : { hint: why.hint }),
  });
}

function elsewhere(window: readonly [number, number], extent: readonly [number, number]): HTMLElement {
  return element("p", {
    role: "status",
    text: `The address asks for ${windowText(window)}, but this run was recorded from ${windowText(extent)}: the whole run is shown.`,
  });
}

function subjectsOf({ run }: RunAnswer, all: readonly Subject[]): Subject[] {
  const present = subjects.filter(
    (subject) =>
      run.valid_fraction[subject] !== undefined ||
      run.tracking.cycles?.[subject] !== undefined ||
      run.tracking.hold?.[subject] !== undefined,
  );
  return present.length > 0 ? present : [...all];
}

function nothingToDraw({ message, hint }: AnswerError): HTMLElement {
  return element("section", { class: "run-nothing" }, [
    element("h2", { text: "Nothing to draw" }),
    element("p", { text: message }),
    hint === undefined ? null : element("p", {}, [element("strong", { text: "What to do: " }), hint]),
  ]);
}

/** Allan deviation of the hover: over which time averaging helps, and from where on the vehicle wanders. */
function stabilitySection(page: RunPage): HTMLElement {
  const { campaign, run, subject, tone } = page;
  const allan = run.allan?.[subject];
  const title = `Steadiness of the ${subjectWords[subject]} over time`;
  if (allan === undefined || allan.tau.length === 0) {
    const why =
      run.windows.hold === null
        ? "No hold window was found in this run; the checks say why."
        : "The hold window is too short, or has too many gaps, for an Allan deviation.";
    return element("section", {}, [element("h2", { text: title }), element("p", { class: "quiet", text: why })]);
  }
  const summed = (axis: Axis): string => {
    const { deviation } = allan[axis];
    const at = deviation.reduce((most, value, i) => (value > deviation[most]! ? i : most), 0);
    return `${axis}: ${lengthText(deviation[0]!)} over ${secondsText(allan.tau[0]!)}, most over ${secondsText(allan.tau[at]!)} (${lengthText(deviation[at]!)})`;
  };
  const noise = campaign.noise?.[subject] ?? { x: null, y: null, z: null };
  return element("section", { class: "run-allan", "aria-label": title }, [
    largeFigure(
      {
        name: `${run.id} ${subject} allan deviation`,
        how: "methods.html#allan-deviation",
        title,
        caption: `Overlapping Allan deviation of the hover position: how much the mean over a time differs from the mean over the next such time; band: ${fixed(100 * allan.level, 0)} % interval; dashed: the capture's noise, were it white. Falling: averaging helps; rising: the vehicle wanders. This hold allows times up to ${secondsText(allan.tau.at(-1)!)}.`,
      },
      (width) =>
        allanFigure(allan, {
          width,
          tone,
          noise,
          label: `Allan deviation of the ${subjectWords[subject]} over averaging time, run ${run.id}, x, y and z`,
        }),
      { level: 2, wide: true },
    ),
    element("p", { class: "quiet small", text: `${axes.map(summed).join("; ")}.` }),
  ]);
}

function secondsText(seconds: number): string {
  return `${fixed(seconds, seconds < 0.1 ? 3 : seconds < 1 ? 2 : 1)} s`;
}
