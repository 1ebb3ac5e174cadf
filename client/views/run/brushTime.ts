import { pointer, select } from "d3";
import type { SeriesAnswer } from "../../../src/contract/api/runAnswers.ts";
import { axes } from "../../../src/foundation/tracks.ts";
import { type Column, columnAt } from "../../figures/bandPath.ts";
import type { TimeDrawing } from "../../figures/timeSeriesFigure.ts";
import { clampWindow, draggedWindow } from "./checksSection.ts";
import { extremesText, momentText } from "./errorFigures.ts";

type Span = readonly [number, number];

export interface TimeBrush {
  /** shows a window as marked; null: none */
  readonly mark: (window: Span | null) => void;
  /** reads the column at an instant and says it; null takes the readout away */
  readonly read: (t: number | null) => string;
}

/** pixels of the drawing that a pointer must travel before it marks a window */
const leastDrag = 4;

/**
 * Lets a pointer read and mark a drawing of error over time. A move changes a few attributes of the overlay, once a
 * frame; the curves beneath are never touched.
 */
export function brushTime(
  drawing: TimeDrawing,
  series: SeriesAnswer,
  options: {
    readonly cycles: readonly Span[];
    readonly hold: Span | null;
    readonly decimals: number;
    readonly marked: (window: Span) => void;
    readonly read: (t: number) => void;
  },
): TimeBrush {
  const { x, y, area, panels, overlay } = drawing;
  const extent = x.domain() as [number, number];
  const perSecond = area.width / (extent[1] - extent[0]);
  const shade = overlay.append("path").attr("class", "unmarked");
  const edges = overlay.append("path").attr("class", "marked-edge");
  const cursor = overlay.append("g").attr("class", "cursor").attr("visibility", "hidden");
  const line = cursor.append("line").attr("y2", area.height);
  const dots = axes.map(() => cursor.append("path").attr("class", "cursor-dot"));
  const texts = axes.map((_, k) =>
    cursor
      .append("text")
      .attr("class", "readout")
      .attr("x", area.width)
      .attr("y", panels[k]! - 9)
      .attr("text-anchor", "end"),
  );
  const sheet = overlay
    .append("rect")
    .attr("class", "catcher")
    .attr("width", area.width)
    .attr("height", area.height)
    .node()!;

  const mark = (window: Span | null): void => {
    const seen = window === null ? null : clampWindow(window, extent);
    if (seen === null || (seen[0] === extent[0] && seen[1] === extent[1])) {
      shade.attr("d", "");
      edges.attr("d", "");
      return;
    }
    const [a, b] = [x(seen[0]), x(seen[1])];
    const high = drawing.panelHeight;
    const outside = panels.map((top) => `M0,${top}H${a}v${high}H0ZM${b},${top}H${area.width}v${high}H${b}Z`);
    shade.attr("d", outside.join(""));
    edges.attr("d", `M${a},0V${area.height}M${b},0V${area.height}`);
  };

  const read = (t: number | null): string => {
    if (t === null || t < extent[0] || t > extent[1]) {
      cursor.attr("visibility", "hidden");
      return "";
    }
    const column = columnAt(series.stretches, t, 1 / perSecond);
    const when = [`${t.toFixed(2)} s`, momentText(t, options.cycles, options.hold)].filter((part) => part !== "");
    const at = x(t);
    line.attr("x1", at).attr("x2", at);
    axes.forEach((axis, k) => {
      const value = column === null ? "gap: no samples" : extremesText(column, axis, options.decimals);
      texts[k]!.text(k === 0 ? `${when.join(", ")}: ${value}` : value);
      dots[k]!.attr("d", column === null ? "" : dotPath(column, axis, k));
    });
    cursor.attr("visibility", "visible");
    if (column === null) return `${when.join(", ")}: gap, no samples`;
    return `${when.join(", ")}: ${axes.map((axis) => `${axis} ${extremesText(column, axis, options.decimals)}`).join(", ")}`;
  };

  function dotPath(column: Column, axis: (typeof axes)[number], k: number): string {
    const [low, high] = column.extremes[axis];
    const at = x((column.start + column.end) / 2);
    return `M${at},${panels[k]! + y(high)}V${panels[k]! + y(low)}h0.01`;
  }

  followPointer(sheet, {
    at: (px) => x.invert(Math.min(area.width, Math.max(0, px))),
    perSecond,
    read: (t) => {
      read(t);
      if (t !== null) options.read(t);
    },
    mark,
    marked: (from, to) => {
      const window = draggedWindow(from, to, leastDrag / perSecond, series.extent);
      if (window !== null) options.marked(window);
    },
  });
  return { mark, read };
}

interface PointerWork {
  /** the time at a place of the sheet, which ends where the drawing does */
  readonly at: (px: number) => number;
  /** pixels */
  readonly perSecond: number;
  readonly read: (t: number | null) => void;
  readonly mark: (window: Span) => void;
  /** a drag has ended */
  readonly marked: (from: number, to: number) => void;
}

/** What a pointer does on the sheet, drawn at most once a frame. */
function followPointer(sheet: SVGRectElement, { at, perSecond, read, mark, marked }: PointerWork): void {
  let from: number | null = null;
  let latest: number | null = null;
  let frame = 0;
  const inFrame = (): void => {
    frame = 0;
    read(latest);
    if (latest !== null && from !== null && Math.abs(latest - from) * perSecond >= leastDrag) {
      mark(from < latest ? [from, latest] : [latest, from]);
    }
  };
  const follow = (event: PointerEvent): void => {
    latest = at(pointer(event, sheet)[0]);
    if (frame === 0) frame = requestAnimationFrame(inFrame);
  };
  select(sheet)
    .on("pointerdown", (event: PointerEvent) => {
      if (event.button !== 0) return;
      event.preventDefault();
      sheet.setPointerCapture(event.pointerId);
      follow(event);
      from = latest;
    })
    .on("pointermove", follow)
    .on("pointerup", (event: PointerEvent) => {
      follow(event);
      const begun = from;
      from = null;
      if (begun !== null && latest !== null) marked(begun, latest);
    })
    .on("pointercancel pointerleave", () => {
      if (from !== null) return;
      latest = null;
      if (frame === 0) frame = requestAnimationFrame(inFrame);
    });
}
