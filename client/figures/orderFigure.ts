import { scaleLinear } from "d3";
import type { CellAxis } from "../../src/catalogue/measures.ts";
import type { RunRow } from "../../src/contract/api/runAnswers.ts";
import type { Subject } from "../../src/foundation/tracks.ts";
import { addressOf } from "../app/address.ts";
import { shortName } from "../app/element.ts";
import { millimetres } from "../app/words.ts";
import { bottomAxis, domainAround, leftAxis } from "./plainAxis.ts";
import { runSign } from "./runLine.ts";
import { drawingRoot, svg } from "./svg.ts";

const [left, right, top, height, between] = [46, 12, 40, 104, 34];

/** A run as it stands in the order flown. */
export interface OrderedRun extends Pick<RunRow, "id" | "order" | "block" | "trajectory" | "used" | "rms"> {
  readonly role: "baseline" | "candidate" | "sham" | "other";
}

/**
 * The rms of every run in the order flown, a panel per trajectory with its own scale, a line where a block ends: what drifts over the
 * day, or steps between days, is seen. Runs that do not count are struck through.
 *
 * @param runs  in the order flown
 * @returns null where no run has the rms
 */
export function orderFigure(
  runs: readonly OrderedRun[],
  { width, subject, axis, decimals }: { width: number; subject: Subject; axis: CellAxis; decimals: number },
): SVGSVGElement | null {
  const valued = runs.flatMap((run) => {
    const rms = run.rms[subject]?.[axis];
    return rms === undefined ? [] : [{ run, value: rms * 1e3 }];
  });
  const trajectories = [...new Set(valued.map(({ run }) => run.trajectory))];
  if (trajectories.length === 0) return null;
  const orders = runs.map(({ order }) => order);
  const [first, last] = [Math.min(...orders), Math.max(...orders)];
  const x = scaleLinear([first - 0.7, last + 0.7], [left, width - right]);
  const bottom = top + trajectories.length * (height + between) - between;
  const ends = runs.flatMap((run, k) =>
    k > 0 && runs[k - 1]!.block !== run.block ? [(run.order + runs[k - 1]!.order) / 2] : [],
  );
  const starts = [first - 0.7, ...ends];
  const named = new Set(runs.map(({ block }) => block)).size > 1;
  const parts = trajectories.flatMap((trajectory, k) => {
    const own = valued.filter(({ run }) => run.trajectory === trajectory);
    const at = top + k * (height + between);
    const domain = domainAround(
      own.map(({ value }) => value),
      0.12,
    );
    const y = scaleLinear(domain, [at + height, at]);
    return [
      leftAxis({ scale: y, domain, at: left, grid: width - right, label: `${trajectory}, mm`, most: 4 }),
      ...own.map(({ run, value }) =>
        svg(
          "a",
          {
            class: "run-link",
            href: addressOf({ page: "run", run: run.id, subject, window: null }),
            "data-run": run.id,
          },
          [
            runSign(run.role, x(run.order), y(value), 4.4, {
              unused: !run.used,
              title: `${run.id}: ${millimetres(value / 1e3, decimals)} mm${run.block === null ? "" : `, ${run.block}`}${run.used ? "" : ", not used"}`,
            }),
          ],
        ),
      ),
    ];
  });
  return drawingRoot(
    { width, height: bottom + 40 },
    {
      title: `Rms of the ${subject}, ${axis}, in the order flown`,
      description: "A mark per run, a panel per trajectory; a line where a block ends.",
      links: true,
    },
    [
      ...ends.map((at) => svg("line", { class: "grid", x1: x(at), x2: x(at), y1: 8, y2: bottom })),
      ...(named
        ? starts.map((at, k) => {
            const room = x(starts[k + 1] ?? last + 0.7) - x(at);
            const block = runs.find(({ order }) => order > at)?.block ?? "no block";
            return svg("text", {
              class: "quiet-text",
              x: x(at) + 4,
              y: 14,
              text: shortName(block, Math.floor(room / 7)),
            });
          })
        : []),
      ...parts,
      bottomAxis({
        scale: x,
        domain: [first - 0.7, last + 0.7],
        at: bottom,
        grid: bottom,
        label: "order flown",
        most: 12,
        words: (value) => (Number.isInteger(value) ? String(value) : ""),
      }),
    ],
  );
}
