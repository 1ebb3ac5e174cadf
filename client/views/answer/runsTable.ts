import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import { axes, type Subject } from "../../../src/foundation/tracks.ts";
import { element, labelOf } from "../../app/element.ts";
import type { RunsSight } from "../../app/View.ts";
import { useText } from "./decideDialog.ts";
import { type RowFrame, runRow, type StripOf, stripOf } from "./runRow.ts";

/** Whether a run that counts has a doubt that nobody took as it is. */
export function isDoubted({ used, checks }: RunRow): boolean {
  return used && checks.some(({ severity, accepted_because: accepted }) => severity === "doubt" && accepted === null);
}

/** All words of a run's row, in small letters: what a reader finds it by. */
export function rowWords(campaign: CampaignView, run: RunRow): string {
  const { id, configuration, trajectory, block, battery, notes, checks } = run;
  const label = configuration === null ? "" : labelOf(campaign, configuration);
  return [id, label, trajectory, block, battery, notes, useText(run), ...checks.map(({ code }) => code)]
    .join(" ")
    .toLowerCase();
}

/** A column by which runs can stand; `over` is the head above those of a subject. */
interface Column {
  readonly id: string;
  readonly head: string;
  readonly of: (run: RunRow) => string | number | null;
}

const gravity = { unusable: 3, doubt: 2, note: 1 } as const;
const gravest = ({ checks }: RunRow): number => Math.max(0, ...checks.map(({ severity }) => gravity[severity]));

function columnsOf(campaign: CampaignView, subjects: readonly Subject[]) {
  const names: Column[] = [
    { id: "order", head: "#", of: ({ order }) => order },
    { id: "run", head: "Run", of: ({ id }) => id },
    {
      id: "configuration",
      head: "Configuration",
      of: ({ configuration }) => (configuration === null ? null : labelOf(campaign, configuration)),
    },
    { id: "trajectory", head: "Trajectory", of: ({ trajectory }) => trajectory },
    { id: "block", head: "Block", of: ({ block }) => (block === null ? null : campaign.blocks.indexOf(block)) },
    { id: "battery", head: "Battery", of: ({ battery }) => battery },
  ];
  return {
    names: names.filter(({ id }) => id !== "configuration" || !campaign.blind),
    lengths: subjects.map((subject) => ({
      subject,
      columns: axes.map(
        (axis): Column => ({ id: `${subject}-${axis}`, head: axis, of: ({ rms }) => rms[subject]?.[axis] ?? null }),
      ),
    })),
    words: [
      { id: "checks", head: "Checks", of: gravest },
      { id: "used", head: "Used?", of: (run: RunRow) => useText(run) },
    ] satisfies Column[],
  };
}

/** How the table is looked at, and what a reader can change of that. */
interface TableSight {
  readonly sight: RunsSight;
  readonly change: ((sight: RunsSight) => void) | null;
  /** the rms that each row draws on one scale */
  readonly strip: StripOf | null;
}

/**
 * The runs of the day: which count and why not, and a person's word on each; in the order flown unless asked otherwise.
 *
 * @param runs      those to show, in the order flown
 * @param decimals  of the lengths, millimetres
 */
export function runsTable(
  campaign: CampaignView,
  runs: readonly RunRow[],
  decimals: number,
  { sight, change, strip }: TableSight = { sight: {}, change: null, strip: null },
): HTMLElement {
  const { blind } = campaign;
  // blind: no configuration beside a run, and no errors side by side
  const subjects = blind ? [] : campaign.subjects.filter((subject) => subject !== "arm");
  const { names, lengths, words } = columnsOf(campaign, subjects);
  const all = [...names, ...lengths.flatMap(({ columns }) => columns), ...words];
  const by = all.find(({ id }) => id === sight.sort) ?? all[0]!;
  const sorted = sortedBy(runs, by.of, sight.down === true);
  const groups = sight.grouped
    ? [...campaign.blocks, null].map((block) => sorted.filter((run) => run.block === block))
    : [sorted];
  const head = (column: Column, attributes: Readonly<Record<string, unknown>>, unseen = ""): HTMLElement =>
    headCell(column, { ...attributes, unseen }, { sight, change, by: by.id });
  const frame: RowFrame = { subjects, decimals, strip: strip === null ? null : stripOf(strip, runs) };
  const table = element("table", { class: "figures runs" }, [
    element("caption", {
      class: "quiet",
      text: blind
        ? "In the order flown, or by name where that is not known."
        : `${sight.sort === undefined ? "In the order flown. " : ""}Rms error over the cycles (over the hold where the trajectory is one), mm.`,
    }),
    element("thead", {}, [
      element("tr", {}, [
        ...names.map((column) => head(column, { rowspan: 2 }, column.id === "order" ? " in the order flown" : "")),
        ...lengths.map(({ subject }) =>
          element("th", { scope: "colgroup", colspan: 3, class: "over", text: `rms, ${subject}` }),
        ),
        frame.strip === null ? null : frame.strip.head,
        ...words.map((column) => head(column, { rowspan: 2, class: column.id === "checks" ? "checks" : "" })),
        element("td", { rowspan: 2, class: "no-print" }),
      ]),
      element(
        "tr",
        {},
        lengths.flatMap(({ subject, columns }) =>
          columns.map((column) => head(column, { class: "number" }, `, ${subject}`)),
        ),
      ),
    ]),
    ...groups.flatMap((group) =>
      group.length === 0
        ? []
        : [
            element("tbody", {}, [
              sight.grouped ? groupRow(group, all.length + 1 + (strip === null ? 0 : 1)) : null,
              ...group.map((run) => runRow(campaign, run, frame)),
            ]),
          ],
    ),
  ]);
  return element("div", { class: "scroll" }, [table]);
}

/** Runs by a column; those without a value at the end, equals in the order flown. */
export function sortedBy(runs: readonly RunRow[], of: Column["of"], down: boolean): RunRow[] {
  return [...runs].sort((a, b) => {
    const [x, y] = [of(a), of(b)];
    if (x === null || y === null) return x === y ? a.order - b.order : x === null ? 1 : -1;
    const apart =
      typeof x === "number" && typeof y === "number"
        ? x - y
        : String(x).localeCompare(String(y), "en", { numeric: true });
    return apart === 0 ? a.order - b.order : down ? -apart : apart;
  });
}

/** A column's head; a button that sorts by it, and the other way round when it does already. */
function headCell(
  { id, head }: Column,
  { unseen, ...attributes }: Readonly<Record<string, unknown>>,
  { sight, change, by }: { sight: RunsSight; change: TableSight["change"]; by: string },
): HTMLElement {
  const words = [
    head,
    unseen === "" ? null : element("span", { class: "unseen", text: String(unseen) }),
    by === id && change !== null
      ? element("span", { class: "sorted", "aria-hidden": "true", text: sight.down ? " ▾" : " ▴" })
      : null,
  ];
  if (change === null) return element("th", { scope: "col", ...attributes }, words);
  const turn = by === id && !sight.down;
  const click = (): void => {
    const { sort: _sort, down: _down, ...rest } = sight;
    change({ ...rest, ...(id === "order" && !turn ? {} : { sort: id }), ...(turn && { down: true as const }) });
    // the table was drawn again
    document.getElementById(`sort-${id}`)?.focus();
  };
  return element(
    "th",
    { scope: "col", "aria-sort": by === id ? (sight.down ? "descending" : "ascending") : null, ...attributes },
    [element("button", { type: "button", class: "plain sort", id: `sort-${id}`, on: { click } }, words)],
  );
}

function groupRow(group: readonly RunRow[], columns: number): HTMLElement {
  const used = group.filter((run) => run.used).length;
  return element("tr", { class: "runs-block" }, [
    element("th", { scope: "rowgroup", colspan: columns }, [
      group[0]!.block ?? "no block",
      element("span", { class: "quiet", text: `  ${used} of ${group.length} used` }),
    ]),
  ]);
}
