import { readFile } from "node:fs/promises";
import type { Download, Locator } from "playwright-core";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import type { CampaignAnswer } from "../../src/contract/api/campaignAnswer.ts";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { isRounded, numbersIn } from "./shownNumber.ts";

const axes = ["x", "y", "z"] as const;
const run = "#/run/flight-18/vehicle";

describeWith(["chromium"], "a run's page", () => {
  let dashboard: Dashboard;
  beforeAll(async () => {
    dashboard = await openDashboard();
  });
  afterAll(() => dashboard?.close());

  const windowFigures = (): Locator => dashboard.page.locator(".window-figures:not(.waiting)");
  const series = (query = ""): Promise<SeriesAnswer> =>
    dashboard.ask<SeriesAnswer>(`/api/runs/flight-18/series?subject=vehicle${query}`);

  /** the window in the address, which follows the marked one */
  const marked = async (): Promise<[number, number]> => {
    const asked = await vi.waitFor(() => {
      const found = /[?]from=([\d.]+)&to=([\d.]+)$/.exec(dashboard.page.url());
      expect(found).not.toBeNull();
      return found!;
    });
    return [Number(asked[1]), Number(asked[2])];
  };

  /** the figures shown are those that the service gives for this window */
  const expectFigures = async ([from, to]: readonly [number, number]): Promise<void> => {
    const { figures } = await series(`&from=${from}&to=${to}`);
    await windowFigures()
      .getByText(`Marked window ${from.toFixed(2)} to ${to.toFixed(2)} s`)
      .waitFor();
    expect(await windowFigures().locator("caption").innerText()).toContain(`n = ${figures!.n} samples`);
    const rows = await windowFigures().locator("tbody tr").allInnerTexts();
    [...axes, "norm" as const].forEach((axis, k) => {
      const { bias, sd, rms, mean_abs, p95, max_abs, range } = figures![axis];
      const shown = rows[k]!.split("\t").slice(1);
      [bias, sd, rms, mean_abs, p95, max_abs, range].forEach((value, j) => {
        if (value === null) expect(shown[j]).toBe("–");
        else expect(isRounded(numbersIn(shown[j]!)[0]!, value * 1e3), `${axis} ${shown[j]} of ${value}`).toBe(true);
      });
    });
  };

  test("a window brushed by mouse shows the figures that the service computes for it", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/${run}`);
    const sheet = page.locator(".run-error svg rect.catcher");
    await sheet.scrollIntoViewIfNeeded();
    const box = (await sheet.boundingBox())!;
    const y = box.y + box.height / 2;
    await page.mouse.move(box.x + 0.5 * box.width, y);
    await page.mouse.down();
    await page.mouse.move(box.x + 0.6 * box.width, y, { steps: 4 });
    await page.mouse.move(box.x + 0.7 * box.width, y, { steps: 4 });
    await page.mouse.up();
    const window = await marked();
    const { extent } = await series();
    const at = (part: number): number => extent[0] + part * (extent[1] - extent[0]);
    // a pixel of the drawing is about 0.04 s
    expect(Math.abs(window[0] - at(0.5))).toBeLessThan(0.1);
    expect(Math.abs(window[1] - at(0.7))).toBeLessThan(0.1);
    await expectFigures(window);
  });

  test("a window typed by keyboard alone shows its figures, stays in the address, and is there after a reload", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/${run}`);
    const from = page.getByRole("spinbutton", { name: "from" });
    await from.focus();
    await page.keyboard.press("Control+A");
    await page.keyboard.type("20.5");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Control+A");
    await page.keyboard.type("26.25");
    await page.keyboard.press("Enter");
    expect(await marked()).toEqual([20.5, 26.25]);
    await expectFigures([20.5, 26.25]);
    await page.reload();
    await drawn(page, "Run flight-18");
    await expectFigures([20.5, 26.25]);
    await page.getByRole("spinbutton", { name: "to" }).fill("3");
    await page.keyboard.press("Enter");
    await page.getByText("expected an end after the start").waitFor();
    await page.getByRole("button", { name: "Clear", exact: true }).click();
    await windowFigures().getByText("Whole recording").waitFor();
    expect(page.url()).not.toContain("from=");
  });

  test("what is drawn keeps the lowest and highest error of every pixel column, whole and zoomed", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/${run}?from=20&to=30`);
    const samples = await allSamples();
    await expectExtremes(samples, await series());
    const zoomed = page.getByRole("button", { name: "Zoom to window" });
    await zoomed.click();
    await page
      .locator('.run-error svg[aria-label*="20.00 to 30.00 s"], .run-error svg:has-text("20.00 to 30.00 s")')
      .waitFor({
        state: "attached",
      });
    await expectExtremes(samples, await series("&from=20&to=30"));
  });

  /** Every sample of the run, from windows so short that the service need not thin them. */
  async function allSamples(): Promise<{ t: number; value: Record<(typeof axes)[number], number> }[]> {
    const { extent } = await series();
    const samples: { t: number; value: { x: number; y: number; z: number } }[] = [];
    for (let from = extent[0]; from < extent[1]; from += 5) {
      const { stretches } = await series(`&from=${from}&to=${from + 5}&points=4000`);
      for (const { start, end, x, y, z } of stretches) {
        start.forEach((t, k) => {
          // entries are samples
          expect([end[k], x.high[k]]).toEqual([t, x.low[k]]);
          samples.push({ t, value: { x: x.low[k]!, y: y.low[k]!, z: z.low[k]! } });
        });
      }
    }
    expect(samples.length).toBeGreaterThan(3000);
    return samples;
  }

  /** Walks the drawn outline and compares it with the samples, pixel column by pixel column. */
  async function expectExtremes(
    samples: Awaited<ReturnType<typeof allSamples>>,
    { window }: SeriesAnswer,
  ): Promise<void> {
    const drawing = dashboard.page.locator(".run-error figure svg").first();
    const { width, panels } = await drawing.evaluate((svg) => ({
      width: Number(svg.querySelector("clipPath rect").getAttribute("width")),
      panels: [...svg.querySelectorAll(".band-curve")].map((band) => ({
        path: `${band.getAttribute("d")}${band.parentElement.querySelector(".curve").getAttribute("d")}`,
        zero: Number(band.parentElement.parentElement.querySelector("line.zero").getAttribute("y1")),
      })),
    }));
    expect(panels).toHaveLength(3);
    const perSecond = width / (window[1] - window[0]);
    const inside = samples.filter(({ t }) => t >= window[0] && t < window[1]);
    panels.forEach(({ path, zero }, a) => {
      const axis = axes[a]!;
      const points = [...path.matchAll(/([\d.-]+),([\d.-]+)/g)].map(([, x, y]) => [Number(x), Number(y)] as const);
      // the scale: millimetres to pixels about the line of no error, from the extremes of all
      const heights = points.map(([, y]) => zero - y);
      const values = inside.map(({ value }) => value[axis]);
      const perMetre = (Math.max(...heights) - Math.min(...heights)) / (Math.max(...values) - Math.min(...values));
      expect(Math.abs(Math.max(...heights) - perMetre * Math.max(...values)), axis).toBeLessThan(0.02);
      const drawnColumns = new Map<number, [number, number]>();
      const widen = (column: number, height: number): void => {
        const [low, high] = drawnColumns.get(column) ?? [height, height];
        drawnColumns.set(column, [Math.min(low, height), Math.max(high, height)]);
      };
      for (const [k, [x]] of points.entries()) widen(Math.floor(x), heights[k]!);
      // hundredths of a pixel are written: what lies at a column's edge may count to either
      for (const { t, value } of inside) {
        const x = perSecond * (t - window[0]);
        const near = [Math.floor(x - 0.006), Math.floor(x + 0.006)].flatMap((column) => drawnColumns.get(column) ?? []);
        const height = perMetre * value[axis];
        // columns of the service that lie wholly within a pixel column are drawn at both their ends; one that
        // reaches into the next is drawn there too
        const reach = spanning(points, heights, x) ?? near;
        expect(Math.min(...reach, ...near), `${axis} at ${t} s`).toBeLessThanOrEqual(height + 0.02);
        expect(Math.max(...reach, ...near), `${axis} at ${t} s`).toBeGreaterThanOrEqual(height - 0.02);
      }
      // and nothing is drawn that was not measured near by: a column of the service is less than two pixels wide
      const byColumn = new Map<number, [number, number]>();
      for (const { t, value } of inside) {
        const column = Math.floor(perSecond * (t - window[0]));
        const [low, high] = byColumn.get(column) ?? [value[axis], value[axis]];
        byColumn.set(column, [Math.min(low, value[axis]), Math.max(high, value[axis])]);
      }
      for (const [column, [low, high]] of drawnColumns) {
        const measured = [column - 2, column - 1, column, column + 1, column + 2].flatMap(
          (each) => byColumn.get(each) ?? [],
        );
        expect(low, `${axis} column ${column}`).toBeGreaterThanOrEqual(perMetre * Math.min(...measured) - 0.02);
        expect(high, `${axis} column ${column}`).toBeLessThanOrEqual(perMetre * Math.max(...measured) + 0.02);
      }
    });
  }

  test("a figure's downloads hold what is drawn: SVG, PNG and CSV", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/run/flight-18/vehicle`);
    const svg = await saved(page.getByRole("button", { name: /Download "Error.* over time" as SVG/ }));
    expect(svg.name).toMatch(/\.svg$/);
    const text = svg.bytes.toString("utf8");
    const shown = await page.locator(".run-error figure svg path.band-curve").first().getAttribute("d");
    const read = await parsed(text);
    expect(read.fault).toBe("");
    expect(read.root).toBe("svg");
    expect(read.paths).toContain(shown);
    expect(text).not.toMatch(/<script|href="http/);
    expectStyled(text);
    // whose it is, when it was made and by what
    const { campaign, state } = await dashboard.ask<CampaignAnswer>("/api/campaign");
    const words = read.texts.join(" ");
    for (const part of [
      campaign!.title,
      campaign!.tool.version,
      state.evaluated_at!.slice(0, 10),
      "Error of the vehicle over time",
    ])
      expect(words).toContain(part);
    const png = await saved(page.getByRole("button", { name: /Download "Error.* over time" as PNG/ }));
    expect(png.bytes.subarray(0, 8)).toEqual(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]));
    // width and height stand at the beginning of a PNG (its IHDR): twice the drawing's
    const size = [png.bytes.readUInt32BE(16), png.bytes.readUInt32BE(20)];
    expect(size).toEqual([2 * read.width, 2 * read.height]);
    const csv = await saved(page.getByRole("button", { name: /Download "Error.* over time" as CSV/ }));
    const rows = csv.bytes.toString("utf8").trim().split("\n");
    const { stretches } = await series();
    expect(rows).toHaveLength(1 + stretches.reduce((sum, { start }) => sum + start.length, 0));
    rows.slice(1).forEach((row, k) => {
      const [, from, , low, high] = row.split(",").map(Number);
      const flat = stretches.flatMap(({ start, x }) => start.map((t, j) => [t, x.low[j]!, x.high[j]!] as const));
      if (k % 100 !== 0) return;
      expect(from).toBeCloseTo(flat[k]![0], 5);
      expect(low).toBeCloseTo(1e3 * flat[k]![1], 2);
      expect(high).toBeCloseTo(1e3 * flat[k]![2], 2);
    });
  });

  test("a figure is saved as wide as one and two columns of a journal, small, with type that can be read there", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/cell/orbit/effector/y/rms`);
    for (const millimetres of [88, 181]) {
      const { name, bytes } = await saved(
        page.getByRole("button", { name: `Download "Runs and their difference" as ${millimetres} mm` }),
      );
      expect(name).toContain(`${millimetres}mm`);
      // each look is written once: it was 320 kB with the look at every part
      expect(bytes.length).toBeLessThan(40e3);
      const text = bytes.toString("utf8");
      expectStyled(text);
      expect((await parsed(text)).fault).toBe("");
      const root = /<svg[^>]*>/.exec(text)![0];
      expect(root).toContain(`width="${millimetres}mm"`);
      const across = Number(/viewBox="\S+ \S+ (\S+)/.exec(root)![1]);
      // type of 12 pixels of the drawing on paper, in points of 1/72 inch: common practice asks for 7 to 10
      const points = (12 / across) * (millimetres / 25.4) * 72;
      expect(points).toBeGreaterThan(8.5);
      expect(points).toBeLessThan(9.5);
    }
  });

  test("a table's CSV holds the same rows as the table", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/run/flight-18/vehicle`);
    const table = page.locator(".run-tracking .run-table").first();
    const shown = await table.locator("tbody tr").allInnerTexts();
    const { bytes } = await saved(table.getByRole("button", { name: /as CSV$/ }));
    const [head, ...rows] = bytes
      .toString("utf8")
      .trim()
      .split("\n")
      .map((line) => line.split(","));
    expect(head!.join()).toContain("rms");
    expect(rows).toHaveLength(shown.length);
    rows.forEach((row, k) => {
      const cells = shown[k]!.split("\t");
      expect(row[0]).toBe(cells[0]);
      row.slice(1).forEach((value, j) => {
        const text = cells[j + 1]!;
        if (value === "") expect(text).toBe("–");
        // metres in the file, millimetres where it is read
        else expect(isRounded(numbersIn(text)[0]!, 1e3 * Number(value)), `${value} as ${text}`).toBe(true);
      });
    });
  });

  test("the board is saved as a picture with its verdicts and numbers", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/`);
    const { cells } = await dashboard.evaluation();
    const { bytes } = await saved(page.getByRole("button", { name: "Download the board as SVG" }));
    const read = await parsed(bytes.toString("utf8"));
    expect(read.fault).toBe("");
    for (const { verdict, difference } of cells.filter(({ in_family }) => in_family)) {
      expect(read.texts.some((text) => text.includes(verdict!))).toBe(true);
      const first = read.texts.flatMap((text) => (text.includes(" mm, ") ? [numbersIn(text)[0]!] : []));
      expect(first.some((shown) => isRounded(shown, difference! * 1e3))).toBe(true);
    }
    const png = await saved(page.getByRole("button", { name: "Download the board as PNG" }));
    expect(png.bytes.readUInt32BE(16)).toBe(2 * read.width);
  });

  test("nothing went wrong meanwhile: no console error, no refusal, no request off the machine", () => {
    expect(dashboard.faults).toEqual([]);
  });

  /** Every class of a saved drawing has its look in the drawing itself, in fonts that every machine has one of. */
  function expectStyled(text: string): void {
    const used = new Set([...text.matchAll(/class="([^"]*)"/g)].map(([, name]) => name));
    expect(used.size).toBeGreaterThan(3);
    for (const name of used) expect(text).toContain(`.${name}{`);
    for (const [, fonts] of text.matchAll(/font-family:([^;}]*)/g)) expect(fonts).toMatch(/sans-serif$/);
    expect(text).not.toContain("system-ui");
  }

  async function saved(button: Locator): Promise<{ name: string; bytes: Buffer }> {
    const [download] = await Promise.all([dashboard.page.waitForEvent("download"), button.click()]);
    return { name: download.suggestedFilename(), bytes: await readFile(await pathOf(download)) };
  }

  /** Reads a text as XML, as another program would: on an empty page, for the dashboard's policy would hold here too. */
  async function parsed(text: string): Promise<{
    fault: string;
    root: string;
    width: number;
    height: number;
    paths: string[];
    texts: string[];
  }> {
    const elsewhere = await dashboard.reader();
    const read = await elsewhere.locator("body").evaluate((body, xml) => {
      const view = body.ownerDocument.defaultView;
      const document = new view.DOMParser().parseFromString(xml, "image/svg+xml");
      const root = document.documentElement;
      return {
        fault: document.querySelector("parsererror")?.textContent ?? "",
        root: root.localName,
        width: Number(root.getAttribute("width")),
        height: Number(root.getAttribute("height")),
        paths: [...root.querySelectorAll("path")].map((path) => path.getAttribute("d")),
        texts: [...root.querySelectorAll("text")].map((each) => each.textContent),
      };
    }, text);
    await elsewhere.context().close();
    return read;
  }
});

async function pathOf(download: Download): Promise<string> {
  return download.path();
}

/** The heights that the outline has at x where it runs past it; null where no piece does. */
function spanning(
  points: readonly (readonly [number, number])[],
  heights: readonly number[],
  x: number,
): number[] | null {
  const found: number[] = [];
  for (let k = 1; k < points.length; k++) {
    const [a, b] = [points[k - 1]![0], points[k]![0]];
    if (Math.min(a, b) - 0.006 <= x && x <= Math.max(a, b) + 0.006 && Math.abs(b - a) < 3) {
      found.push(heights[k - 1]!, heights[k]!);
    }
  }
  return found.length === 0 ? null : found;
}
