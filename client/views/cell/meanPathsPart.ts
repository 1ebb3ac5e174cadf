import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { CyclesAnswer, SeriesAnswer } from "../../../src/contract/api/runAnswers.ts";
import type { AxisNames } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { fetchAnswer } from "../../app/fetchAnswer.ts";
import type { ComparedCurve } from "../../figures/comparisonFigure.ts";
import { largeFigure } from "../../figures/figureFrame.ts";
import { commandOverPhase, meanPathsFigure, type OverPhase } from "../../figures/meanPathsFigure.ts";
import { pathViews } from "../../figures/pathFigure.ts";

const magnifiers = [1, 5, 10] as const;

/** points a cycle that the service is asked for: more than a command usually has */
const points = 4000;

interface MeanPaths {
  /** whose command is drawn */
  readonly of: CyclesAnswer;
  readonly paths: readonly (Pick<ComparedCurve, "name" | "tone"> & { readonly error: OverPhase })[];
  readonly trajectory: CampaignView["trajectories"][number] | undefined;
  readonly names: AxisNames;
  readonly name: string;
  readonly level: 2 | 3;
}

/** Mean paths on the commanded one, with a magnifier for what lies between them. The command is fetched once the page stands. */
export async function meanPathsPart(
  { of, paths, trajectory, names, name, level }: MeanPaths,
  left: AbortSignal,
): Promise<HTMLElement> {
  const windows = of.cycles.map(({ window }) => window);
  const answer = await fetchAnswer<SeriesAnswer>(apiPaths.series(of.run), {
    signal: left,
    query: { subject: of.subject, from: windows[0]![0], to: windows.at(-1)![1], points },
  });
  const command = commandOverPhase(answer.path.command, windows, of.phase.length);
  const views = pathViews(trajectory ?? { plane: null, axis: null });
  const place = element("div", {});
  const draw = (times: (typeof magnifiers)[number]): void =>
    place.replaceChildren(
      largeFigure(
        {
          name: `${name} mean paths`,
          how: "methods.html#error-over-cycle-phase",
          title: "Mean paths on the commanded one",
          caption: `Wide and grey: as commanded in ${of.run}. Lines: the command of each cycle phase and the mean error there${times === 1 ? "" : `, ${times} times magnified: shapes are shown, and no distances`}.`,
        },
        (width) =>
          meanPathsFigure(command, paths, {
            width,
            views,
            names,
            times,
            label: `Mean paths on the commanded one, deviations ${times} times: ${paths.map((path) => path.name).join("; ")}`,
          }),
        { level, wide: true },
      ),
    );
  draw(1);
  return element("section", { class: "mean-paths" }, [
    element("fieldset", { class: "harmonic-chooser no-print" }, [
      element("legend", { text: "Deviation magnified" }),
      ...magnifiers.map((times) =>
        element("label", {}, [
          element("input", {
            type: "radio",
            name: `${name}-magnified`,
            value: String(times),
            checked: times === 1,
            on: { change: () => draw(times) },
          }),
          `×${times}`,
        ]),
      ),
    ]),
    place,
  ]);
}
