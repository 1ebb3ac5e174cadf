import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { BenchEvaluation } from "../../../src/contract/benchEvaluation.ts";
import { channelWords } from "../../../src/words/benchWords.ts";
import { element } from "../../app/element.ts";
import { fixed, noValue } from "../../app/words.ts";
import { forceGrowthFigure, type GrowthPoint, momentGrowthFigure } from "../../figures/benchGrowthFigure.ts";
import type { BenchSide } from "../../figures/benchPhaseFigure.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { movingFigure } from "../../figures/movingFigure.ts";
import { figuresTable, numberCell, type TableCell } from "../run/figuresTable.ts";
import { configurationLabel } from "../why/movingPart.ts";
import { movingLines } from "../why/toFlightPart.ts";

const range = (interval: readonly [number, number] | null, decimals: number): TableCell => ({
  text: interval === null ? noValue : `${fixed(interval[0], decimals)} to ${fixed(interval[1], decimals)}`,
});

/** How force and moment of a trajectory grow with speed, gravity kept apart from inertia. */
export function growthPart(
  bench: BenchEvaluation,
  trajectory: string,
  sides: readonly BenchSide[],
): (HTMLElement | null)[] {
  const growth = bench.growth.filter(
    (one) => one.trajectory === trajectory && sides.some(({ key }) => key === one.configuration),
  );
  if (growth.length === 0)
    return [
      element("p", {
        class: "quiet",
        text: "How it grows with speed cannot be said: it takes three speeds or more within one refit, with the arm's travel measured.",
      }),
    ];
  const forces = growth.filter(({ exponent }) => exponent !== null);
  const moments = growth.filter(({ gravity }) => gravity !== null);
  return [
    forces.length === 0
      ? null
      : figureFrame(
          {
            name: `${trajectory} force over speed on the bench`,
            title: "Force over speed",
            caption:
              "First harmonic over the arm's travel, both scales logarithmic. Marks: runs; line: the slope found, one per refit; broken: slope 2, inertia alone. Another slope: resonance, the servo's roll-off, aliasing or friction.",
          },
          (width) =>
            forceGrowthFigure(forcePoints(bench, trajectory, sides), forces, sides, {
              width,
              label: `Forces in ${trajectory} over the cycle rate, logarithmic`,
            }),
          { level: 3, wide: true },
        ),
    moments.length === 0
      ? null
      : figureFrame(
          {
            name: `${trajectory} moment over speed on the bench`,
            title: "Moment over speed: gravity and inertia",
            caption:
              "Part in step with the arm over its travel. What is left at the left edge is gravity, what the line climbs or falls by is inertia: no power law fits such a moment. Marks: means over refits.",
          },
          (width) =>
            momentGrowthFigure(momentPoints(bench, trajectory), moments, sides, {
              width,
              label: `Moments in ${trajectory} over the squared cycle rate`,
            }),
          { level: 3, wide: true },
        ),
    figuresTable({
      name: `${trajectory} growth on the bench`,
      caption: `Growth with speed in ${trajectory}: means over refits with 95 % intervals`,
      columns: [
        "channel",
        "configuration",
        "exponent",
        "95 % interval",
        "gravity, N",
        "interval of gravity",
        "inertia, kg m",
        "interval of inertia",
      ],
      rows: growth.map(({ channel, configuration, exponent, ci95, gravity, inertial }) => [
        { text: channelWords[channel] },
        { text: sides.find(({ key }) => key === configuration)!.label },
        numberCell(exponent, (value) => fixed(value, 3)),
        range(ci95, 3),
        numberCell(gravity?.value ?? null, (value) => fixed(value, 3)),
        range(gravity?.ci95 ?? null, 3),
        numberCell(inertial?.value ?? null, (value) => fixed(value, 4)),
        range(inertial?.ci95 ?? null, 4),
      ]),
    }),
  ];
}

const channelOf = { x: "fx", y: "fy", z: "fz" } as const;

/** Size of the apparent mass times the squared rate: the filter's gain is taken out of it. */
function forcePoints(
  { runs, settings }: BenchEvaluation,
  trajectory: string,
  sides: readonly BenchSide[],
): GrowthPoint[] {
  return runs.flatMap((run) => {
    const role = sides.find(({ key }) => key === run.configuration)?.role;
    const { period, apparent_mass: mass } = run;
    // of a creep run no force says anything
    if (run.trajectory !== trajectory || !run.used || role === undefined) return [];
    if (mass === null || period === null || period >= settings.creep_period!) return [];
    return (["x", "y", "z"] as const).flatMap((axis) => {
      const own = mass[axis];
      if (own === undefined) return [];
      const value = Math.hypot(own.re, own.im) * ((2 * Math.PI) / period) ** 2;
      return [{ channel: channelOf[axis], role, run: run.id, rate: 1 / period, value }];
    });
  });
}

function momentPoints({ cells }: BenchEvaluation, trajectory: string): GrowthPoint[] {
  return cells.flatMap((cell) => {
    if (cell.trajectory !== trajectory || cell.verdict === null || cell.speed === null || cell.unit !== "N") return [];
    const { channel, speed: rate } = cell;
    return (["baseline", "candidate"] as const).map((role) => ({
      channel,
      role,
      run: null,
      rate,
      value: cell[role].mean,
    }));
  });
}

/** What moves, by the force and by gravity's moment, and what the declared masses make. */
export function movingMassPart(campaign: CampaignView, { moving }: BenchEvaluation): HTMLElement {
  const { effects, names } = movingLines(
    moving.map((one) => ({
      ...one,
      label: `${configurationLabel(campaign, one.configuration)}, ${one.from}`,
      n: one.refits,
      mean: one.value,
    })),
  );
  return element("section", { class: "bench-moving" }, [
    element("h2", { text: "What moves" }),
    moving.length === 0
      ? element("p", { class: "quiet", text: "Not to be seen: it takes the arm's position and a travel over 5 mm." })
      : figureFrame(
          {
            name: "apparent moving mass on the bench",
            title: "Apparent moving mass, by force and by gravity's moment",
            caption:
              "Means with their 95 % intervals over refits; diamond: what the declared masses make. Zero: balanced; below zero: over-balanced.",
          },
          (width) =>
            movingFigure(effects, names, { width, label: "Apparent moving mass on the bench, with 95 % intervals" }),
          { level: 3, wide: true },
        ),
  ]);
}

/** What is not clear of 1 is no disagreement. */
function agrees(ratio: number, ci95: readonly [number, number] | null, tolerance: number): boolean {
  const clear = ci95 === null || ci95[0] > 1 || ci95[1] < 1;
  return !clear || Math.abs(ratio - 1) <= tolerance;
}

/** Whether gravity's moment and the force speak of one mass. */
export function closurePart(campaign: CampaignView, { closure }: BenchEvaluation): HTMLElement {
  const seen = closure.filter(({ ratio }) => ratio !== null);
  return element("section", { class: "bench-closure" }, [
    element("h2", { text: "Do force and moment agree?" }),
    element("p", {
      class: "reading",
      text: "Gravity's moment follows from what the force says moves: their ratio is 1 where units, axes and signs of both are right. One factor on all channels, a turn about the vertical and the lever's height are not seen by it.",
    }),
    seen.length === 0
      ? element("p", { class: "quiet", text: "It takes three speeds or more, or a creep run." })
      : figuresTable({
          name: "closure on the bench",
          caption: "Gravity's moment over what the force says of it",
          columns: ["trajectory", "moment", "configuration", "ratio", "95 % interval", "allowed off 1", "agree"],
          rows: seen.map(({ trajectory, channel, configuration, ratio, ci95, tolerance }) => [
            { text: trajectory },
            { text: channelWords[channel] },
            { text: configurationLabel(campaign, configuration) },
            numberCell(ratio, (value) => fixed(value, 3)),
            range(ci95, 3),
            numberCell(tolerance, (value) => fixed(value, 3)),
            { text: agrees(ratio!, ci95, tolerance) ? "yes" : "no" },
          ]),
        }),
  ]);
}
