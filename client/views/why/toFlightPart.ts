import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { ReasonsAnswer } from "../../../src/contract/api/cellAnswers.ts";
import type { ToFlight } from "../../../src/contract/benchToFlight.ts";
import { element } from "../../app/element.ts";

import { fixed, noValue } from "../../app/words.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { type DrawnEffect, type MovingName, movingFigure } from "../../figures/movingFigure.ts";
import { figuresTable } from "../run/figuresTable.ts";
import { configurationLabel, paragraphs } from "./movingPart.ts";

/** Bench and flights side by side: the moving mass that both show in one figure, and the forecast with what was flown. */
export function toFlightPart(
  campaign: CampaignView,
  { shared, forecast, held }: ToFlight,
  sentences: ReasonsAnswer["bench"],
): HTMLElement {
  const { effects, names } = drawn(campaign, shared);
  return element("section", { class: "why-bench" }, [
    element("h2", { text: "Bench and flights side by side" }),
    ...paragraphs(sentences),
    shared.length === 0
      ? null
      : figureFrame(
          {
            name: "moving mass on the bench and in flight",
            title: "The number that bench and flights share",
            caption:
              "Apparent moving mass by the bench's force, by its gravity moment, and as flown: means with their 95 % intervals, over refits and over runs. Zero: balanced.",
          },
          (width) =>
            movingFigure(effects, names, {
              width,
              label: "Apparent moving mass from bench and flights, with 95 % intervals",
            }),
          { level: 3, wide: true },
        ),
    forecast.length === 0 ? null : forecastTable(forecast, held),
  ]);
}

/** A moving mass of a configuration by one source. */
interface MovingLine extends Pick<DrawnEffect, "trajectory" | "axis"> {
  /** of configuration and source */
  readonly label: string;
  readonly n: number;
  readonly mean: number;
  readonly ci95: [number, number] | null;
  readonly expected: number | null;
}

/** One line per configuration and source, in the words of the figure of what moves. */
export function movingLines(lines: readonly MovingLine[]): { effects: DrawnEffect[]; names: MovingName[] } {
  const names = new Map<string, MovingName>();
  const effects = new Map<string, { -readonly [key in keyof DrawnEffect]: DrawnEffect[key] }>();
  for (const { trajectory, axis, label, n, mean, ci95, expected } of lines) {
    const place = `${trajectory} ${axis}`;
    const effect = effects.get(place) ?? { trajectory, axis, unit: "kg" as const, configurations: {} };
    names.set(label, { key: label, label, role: "other" });
    effect.configurations = { ...effect.configurations, [label]: { n, mean, ci95, expected, values: [] } };
    effects.set(place, effect);
  }
  return { effects: [...effects.values()], names: [...names.values()] };
}

function drawn(campaign: CampaignView, shared: ToFlight["shared"]): ReturnType<typeof movingLines> {
  return movingLines(
    shared.flatMap(({ trajectory, axis, configuration, bench, flight }) =>
      [
        ...bench.map(({ from, refits, value, ci95 }) => ({ source: `bench, ${from}`, n: refits, mean: value, ci95 })),
        { source: "in flight", n: flight.n, mean: flight.value, ci95: flight.ci95 },
      ].map(({ source, ...line }) => ({
        ...line,
        trajectory,
        axis,
        label: `${configurationLabel(campaign, configuration)}, ${source}`,
        expected: null,
      })),
    ),
  );
}

function forecastTable(forecast: ToFlight["forecast"], held: ToFlight["held"]): HTMLElement {
  const mm = (value: number | null): { text: string; value?: number } =>
    value === null ? { text: noValue } : { text: fixed(1000 * value, 1), value };
  return figuresTable({
    name: "forecast from the bench",
    caption:
      "Forecast of the vehicle's first harmonic with the counterweights, mm, and what was flown. Free body: force over mass, for ranking alone; such loops make it wrong by 0.15 to 2.3",
    columns: ["trajectory", "axis", "baseline", "expected", "from", "to", "flown", "by", "free body"],
    rows: forecast.map(({ trajectory, axis, baseline, expected, prediction, method, free_body }) => {
      const flown = held.find((one) => one.trajectory === trajectory && one.axis === axis);
      return [
        { text: trajectory },
        { text: axis },
        mm(baseline),
        mm(flown?.expected ?? expected),
        mm(flown?.prediction[0] ?? prediction?.[0] ?? null),
        mm(flown?.prediction[1] ?? prediction?.[1] ?? null),
        mm(flown?.flown ?? null),
        { text: method ?? "no forecast" },
        mm(free_body),
      ];
    }),
  });
}
