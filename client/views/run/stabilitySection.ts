import { type Axis, axes } from "../../../src/foundation/signals.ts";
import { element } from "../../app/element.ts";
import { fixed, lengthText } from "../../app/words.ts";
import { allanFigure } from "../../figures/allanFigure.ts";
import { largeFigure } from "../../figures/largeFigure.ts";
import { type RunPage, subjectWords } from "./RunPage.ts";

/** Allan deviation of the hover: over which time averaging helps, and from where on the vehicle wanders. */
export function stabilitySection(page: RunPage): HTMLElement {
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
        title,
        caption: `Overlapping Allan deviation of the hover position: how much the mean over a time differs from the mean over the next such time; band: ${fixed(100 * allan.level, 0)} % interval; dashed: the capture's noise, were it white. Falling: averaging helps; rising: the vehicle wanders. This hold allows times up to ${secondsText(allan.tau.at(-1)!)}.`,
      },
      allanFigure(allan, {
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
