import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { BenchCell, BenchRunEvaluation } from "../../../src/contract/benchEvaluation.ts";
import { percentRange } from "../../../src/words/amounts.ts";
import { channelWords, reductionWords } from "../../../src/words/benchWords.ts";
import { fixed, noValue, probabilityValue, typeset } from "../../app/words.ts";
import type { BenchSide } from "../../figures/benchPhaseFigure.ts";
import { figuresTable, numberCell, type TableCell } from "../run/figuresTable.ts";
import { signedLabel } from "../why/movingPart.ts";

const amount = (value: number): string => fixed(value, Math.abs(value) < 1 ? 3 : 2);

const side = ({ mean, sd }: BenchCell["baseline"]): TableCell => ({
  text: sd === null ? amount(mean) : `${amount(mean)} ± ${amount(sd)}`,
  value: mean,
});
const share = ({ reduction }: BenchCell): TableCell =>
  reduction === null ? { text: noValue, value: null } : { text: reductionWords(reduction), value: reduction };
const range = ({ ci95 }: BenchCell): TableCell => ({ text: ci95 === null ? noValue : typeset(percentRange(ci95)) });

/** Per speed and channel that the arm drives: what it shakes with, what is taken away, and the verdict. */
export function cellsTable(
  trajectory: string,
  cells: readonly BenchCell[],
  [baseline, candidate]: readonly BenchSide[],
): HTMLElement {
  const family = cells.filter(({ verdict }) => verdict !== null);
  return figuresTable({
    name: `${trajectory} on the bench`,
    caption: `Shaking force and moment in ${trajectory}: rms over the cycle's harmonics, mean ± sd over refits, and what is taken away of the part in step with the arm`,
    columns: [
      "speed",
      "channel",
      `${baseline!.label}, rms`,
      `${candidate!.label}, rms`,
      "unit",
      "in step with the arm",
      "95 % interval",
      "refits",
      "p among family",
      "verdict",
    ],
    rows: family.map((cell) => {
      const rms = cells.find(
        (one) => one.speed === cell.speed && one.channel === cell.channel && one.harmonic === "cycle",
      );
      const none = { text: noValue, value: null };
      return [
        { text: cell.speed_label ?? noValue },
        { text: channelWords[cell.channel] },
        rms === undefined ? none : side(rms.baseline),
        rms === undefined ? none : side(rms.candidate),
        { text: rms?.unit ?? noValue },
        share(cell),
        range(cell),
        numberCell(cell.refits, String),
        { text: probabilityValue(cell.p_family), value: cell.p_family },
        { text: cell.doubts.length === 0 ? cell.verdict! : `${cell.verdict}: ${cell.doubts.join(", ")}` },
      ];
    }),
  });
}

/** All channels by band, without verdicts. */
export function allCellsTable(
  trajectory: string,
  cells: readonly BenchCell[],
  [baseline, candidate]: readonly BenchSide[],
): HTMLElement {
  return figuresTable({
    name: `${trajectory} on the bench, all channels`,
    caption: `Rms of every channel in ${trajectory}, by band: exploratory, without verdicts`,
    columns: ["speed", "channel", "band", baseline!.label, candidate!.label, "unit", "taken away", "95 % interval"],
    rows: cells
      .filter(({ harmonic }) => harmonic !== 1)
      .map((cell) => [
        { text: cell.speed_label ?? noValue },
        { text: channelWords[cell.channel] },
        { text: cell.harmonic === "cycle" ? "harmonics of the cycle" : "everything" },
        side(cell.baseline),
        side(cell.candidate),
        { text: cell.unit },
        share(cell),
        range(cell),
      ]),
  });
}

/** Every run; pointed at, its curves and marks light up. */
export function runsTable(campaign: CampaignView, runs: readonly BenchRunEvaluation[]): HTMLElement {
  const table = figuresTable({
    name: "runs on the bench",
    caption: "Runs on the stand; rms of the whole force and moment over the cycle's harmonics",
    columns: [
      "run",
      "configuration",
      "trajectory",
      "speed filed",
      "refit",
      "period, s",
      "cycles",
      "force, N",
      "moment, N m",
      "checks",
      "used",
    ],
    rows: runs.map((run) => [
      { text: run.id },
      { text: signedLabel(campaign, run.configuration), value: run.configuration },
      { text: run.trajectory },
      { text: run.speed_label ?? noValue },
      { text: run.refit ?? noValue },
      numberCell(run.period, (value) => fixed(value, 3)),
      numberCell(run.cycles, String),
      numberCell(run.resultant?.force.cycle ?? null, amount),
      numberCell(run.resultant?.moment.cycle ?? null, amount),
      { text: [...new Set(run.checks.map(({ code }) => code))].join(", ") || "none" },
      { text: run.used ? "yes" : `no: ${run.excluded_because ?? "a check"}` },
    ]),
  });
  for (const [k, row] of table.querySelectorAll<HTMLElement>("tbody tr").entries()) row.dataset.run = runs[k]!.id;
  return table;
}
