import { afterAll, beforeAll, expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { isRounded, numbersIn } from "./shownNumber.ts";

const axes = ["x", "y", "z"] as const;

describeWith(["chromium"], "what explains a run's error, on its page", () => {
  let dashboard: Dashboard;
  let run: RunEvaluation;
  beforeAll(async () => {
    dashboard = await openDashboard();
    run = (await dashboard.evaluation()).runs.find(({ id }) => id === "flight-18")!;
    await visit(dashboard.page, `${dashboard.address}/#/run/flight-18/effector`);
    await drawn(dashboard.page, "Run flight-18");
  });
  afterAll(() => dashboard?.close());

  const rowsOf = (section: string, table = 0): Promise<string[]> =>
    dashboard.page.locator(`${section} .run-table table`).nth(table).locator("tbody tr").allInnerTexts();
  const shows = (text: string, values: readonly number[], per: number): void => {
    const shown = numbersIn(text.split("\t").slice(1).join(" "));
    values.forEach((value, k) => {
      expect(isRounded(shown[k]!, per * value), `${text}: ${value}`).toBe(true);
    });
  };

  test("path figures are those of evaluation.json, with the number of cycles said where the standard has another", async () => {
    const { contour, accuracy, repeatability, velocity, cycles } = run.path!.effector!;
    const rows = await rowsOf(".run-standard-path");
    const expected: [number, number][] = [
      [contour.rms, 1e3],
      [contour.p95, 1e3],
      [contour.max, 1e3],
      [accuracy!, 1e3],
      [repeatability!, 1e3],
      [velocity!.accuracy, 100],
      [velocity!.repeatability!, 100],
      [velocity!.fluctuation, 1e3],
      [velocity!.commanded, 1e3],
    ];
    expected.forEach(([value, per], k) => {
      shows(rows[k]!, [value], per);
    });
    const words = await dashboard.page.locator(".run-standard-path > p").first().innerText();
    expect(words).toContain(`Over ${cycles} cycles (the standard has 10)`);
  });

  test("the budget's bars add up and its table holds the evaluation's shares; the frames' reach is reported", async () => {
    const budget = run.budget!;
    await dashboard.page.locator(".run-budget summary").click();
    const drawnRows = dashboard.page.locator(".run-budget figure tbody tr");
    // the table is made at the toggle event, which the browser sends a little after the click
    await drawnRows.first().waitFor();
    const rows = await drawnRows.allInnerTexts();
    (["x", "y", "z", "norm"] as const).forEach((axis, k) => {
      const { rms, parts, shares } = budget[axis];
      const shown = rows[k]!.split("\t").slice(1).map(Number);
      const told = [rms, parts.vehicle, parts.attitude, parts.arm].map((metres) => 1e3 * metres);
      [0, 1, 3, 5].forEach((column, i) => {
        expect(shown[column]).toBeCloseTo(told[i]!, 3);
      });
      expect(shown[2]! + shown[4]! + shown[6]!).toBeCloseTo(1, 3);
      expect(shown[2]).toBeCloseTo(shares!.vehicle, 3);
    });
    const frames = await rowsOf(".run-budget");
    axes.forEach((axis, k) => {
      const { rms, parts } = budget[axis];
      const { rms_within: within } = budget.sensitivity[axis];
      shows(frames[k]!, [rms, parts.vehicle, parts.attitude, parts.arm, ...within], 1e3);
    });
  });

  test("the spectrum marks the cycle's harmonics, with the amplitudes of the synchronous split", async () => {
    const { harmonics } = run.spectrum!.subjects.effector!;
    expect(harmonics.length).toBe(5);
    const rows = await rowsOf(".run-spectrum");
    harmonics.forEach(({ frequency, amplitude }, k) => {
      shows(rows[k]!, [frequency], 1);
      shows(
        rows[k]!.split("\t").slice(1).join("\t"),
        axes.map((axis) => amplitude[axis]!),
        1e3,
      );
      expect(amplitude.x).toBeCloseTo(run.synchronous!.effector!.x.harmonics[k]!.amplitude, 9);
    });
    // a line per harmonic and panel
    expect(await dashboard.page.locator(".run-spectrum svg .harmonic").count()).toBe(15);
  });

  test("the Allan curve says how long the hold allows, and the vehicle's page has the coherence", async () => {
    const { page, address } = dashboard;
    const longest = run.allan!.effector!.tau.at(-1)!;
    const caption = await page.locator(".run-allan figcaption").innerText();
    expect(isRounded(numbersIn(caption).at(-1)!, longest)).toBe(true);
    expect(await page.getByText("Coherence of the vehicle's error").count()).toBe(0);
    await visit(page, `${address}/#/run/flight-18/vehicle`);
    await page.getByText("Coherence of the vehicle's error").first().waitFor();
    expect(await page.locator(".run-budget").count()).toBe(0);
    expect(await page.locator(".run-standard-path").count()).toBe(0);
    // the vehicle's setpoint rests: no path
    await page.getByText("The command of the vehicle stands still, or gives no path that could be followed.").waitFor();
  });

  test("at the width of a telephone nothing makes the page scroll sideways", async () => {
    const page = await dashboard.reader({ viewport: { width: 360, height: 800 } });
    await visit(page, `${dashboard.address}/#/run/flight-18/effector`);
    await drawn(page, "Run flight-18");
    expect(await page.evaluate("document.documentElement.scrollWidth - window.innerWidth")).toBeLessThanOrEqual(0);
    await page.context().close();
  });

  test("nothing went wrong on the way", () => expect(dashboard.faults).toEqual([]));
});
