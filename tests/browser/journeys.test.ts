import { afterAll, beforeAll, expect, test, vi } from "vitest";
import type { CyclesAnswer, SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { places } from "./places.ts";

describeWith(["chromium"], "journeys through the dashboard", () => {
  let dashboard: Dashboard;
  beforeAll(async () => {
    dashboard = await openDashboard();
  });
  afterAll(() => dashboard?.close());

  const hash = (): string => new URL(dashboard.page.url()).hash;
  /** what has the focus, in its own words */
  const focused = (): Promise<string> =>
    dashboard.page.evaluate<string>(
      `document.activeElement.getAttribute("aria-label") ?? document.activeElement.textContent`,
    );
  /** Tab until something with these words has the focus, as a reader without a mouse does */
  const tabTo = async (words: RegExp, most = 120): Promise<void> => {
    for (let k = 0; k < most; k++) {
      await dashboard.page.keyboard.press("Tab");
      if (words.test(await focused())) return;
    }
    throw new Error(`found nothing named ${words} within ${most} steps of Tab`);
  };

  test("by mouse: answer to cell, to its neighbour, and back to where the reader was", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/`);
    await page.locator('td.board-cell[data-cell="reach/effector/x/rms"] a.cell-link').click();
    await drawn(page, "Reach, effector along x");
    expect(hash()).toBe("#/cell/reach/effector/x/rms");
    expect(await page.locator("main h1").innerText()).toMatch(/^Reach, effector along x: ▼ steadier/);
    await page.getByRole("link", { name: "reach, effector along y →" }).click();
    await drawn(page, "Reach, effector along y");
    await page.goBack();
    await drawn(page, "Reach, effector along x");
    await page.goBack();
    await drawn(page, "Answer");
    expect(hash()).toBe("#/");
    await page.locator('td.board-cell[data-cell="orbit/vehicle/z/rms"] a.cell-link').click();
    await drawn(page, "Orbit, vehicle along z");
    await page.getByRole("link", { name: "Board", exact: true }).click();
    await drawn(page, "Answer");
  });

  test("by keyboard alone: skip link, answer to cell, cell to cell by arrow keys, and back", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/`);
    await page.keyboard.press("Tab");
    expect(await focused()).toBe("Skip to the page");
    await page.keyboard.press("Enter");
    await page.keyboard.press("Tab");
    await tabTo(/^orbit, vehicle along x/);
    await page.keyboard.press("ArrowDown");
    expect(await focused()).toMatch(/^orbit, effector along x/);
    await page.keyboard.press("ArrowRight");
    expect(await focused()).toMatch(/^orbit, effector along y/);
    await page.keyboard.press("Enter");
    await drawn(page, "Orbit, effector along y");
    await page.keyboard.press("ArrowRight");
    await drawn(page, "Orbit, effector along z");
    await page.keyboard.press("ArrowLeft");
    await drawn(page, "Orbit, effector along y");
    expect(hash()).toBe("#/cell/orbit/effector/y/rms");
    await tabTo(/^Board$/);
    await page.keyboard.press("Enter");
    await drawn(page, "Answer");
  });

  test("by mouse and by keyboard: answer to run, and to its other subjects", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/`);
    await page.getByRole("link", { name: "flight-02", exact: true }).click();
    await drawn(page, "Run flight-02");
    expect(hash()).toBe("#/run/flight-02/effector");
    const subjects = page.getByRole("navigation", { name: "What is judged" });
    await subjects.getByRole("link", { name: /^Vehicle/ }).click();
    await vi.waitFor(() => expect(hash()).toBe("#/run/flight-02/vehicle"));
    await page.getByRole("heading", { name: "Error of the vehicle over time" }).waitFor();
    await drawn(page, "Run flight-02");
    await tabTo(/^Arm tool point/);
    await page.keyboard.press("Enter");
    await page.locator("main > .page:only-child [aria-current=page]", { hasText: "Arm" }).waitFor();
    await drawn(page, "Run flight-02");
    expect(hash()).toBe("#/run/flight-02/arm");
    await visit(page, `${address}/#/`);
    await tabTo(/^flight-04$/);
    await page.keyboard.press("Enter");
    await drawn(page, "Run flight-04");
    // to the runs flown before and after it, to a cell that it counts in, and from its mark there back
    await page.keyboard.press("ArrowLeft");
    await drawn(page, "Run flight-03");
    await page.getByRole("link", { name: "flight-04 →" }).click();
    await drawn(page, "Run flight-04");
    const { cells } = await dashboard.evaluation();
    const own = cells.filter(
      (cell) => cell.in_family && [...cell.baseline.runs, ...cell.candidate.runs].includes("flight-04"),
    );
    const links = await page.locator(".counts-in a").evaluateAll((all) => all.map((a) => a.getAttribute("href")));
    expect(links).toEqual(own.map((c) => `#/cell/${c.trajectory}/${c.subject}/${c.axis}/${c.metric}`));
    expect(links.length).toBeGreaterThan(0);
    await page.locator(".counts-in a").first().click();
    await page.locator(".cell-figures").waitFor();
    const mark = page.locator('.run-link[data-run="flight-04"]');
    // its line among the runs, and what the comparison is without it; a figure drawn again meanwhile has to be pointed at again
    await vi.waitFor(
      async () => {
        await page.mouse.move(0, 0);
        await mark.hover();
        const lit = await page.locator(".lit").evaluateAll((all) => all.map((part) => part.getAttribute("data-run")));
        expect(lit).toEqual(["flight-04", "flight-04"]);
      },
      { timeout: 10_000, interval: 100 },
    );
    await mark.click();
    await drawn(page, "Run flight-04");
    await tabTo(/^Answer$/);
    await page.keyboard.press("Enter");
    await drawn(page, "Answer");
  });

  test("the synchronous page holds both configurations' vectors as evaluation.json has them", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/`);
    await page.getByRole("link", { name: "Arm-synchronous, reach" }).click();
    await drawn(page, "Arm-synchronous error, reach");
    const { runs, reasons } = await dashboard.evaluation();
    const used = runs.filter((run) => run.used && run.trajectory === "reach");
    for (const [harmonic, k] of [
      ["1", 1],
      ["2", 2],
    ] as const) {
      await page.getByRole("radio", { name: harmonic, exact: true }).check();
      await page.getByRole("heading", { name: new RegExp(`^Harmonic ${k}`) }).waitFor();
      const table = page.locator(".run-table table");
      for (const run of used) {
        const shown = await table.locator("tr", { has: page.getByText(run.id, { exact: true }) }).innerText();
        const amplitudes = (["x", "y", "z"] as const).map(
          (axis) => run.synchronous!.effector![axis].harmonics.find((each) => each.k === k)!.amplitude,
        );
        const found = shown.split("\t").slice(2);
        amplitudes.forEach((amplitude, a) => {
          expect(Number(found[2 * a]), `${run.id} ${shown}`).toBeCloseTo(amplitude * 1e3, 1);
        });
      }
      // first of all what is asked: the difference, and whether its region leaves zero out
      const said = await page.locator("figure").first().locator("svg text.value").allTextContents();
      const own = reasons.synchronous.filter((e) => e.trajectory === "reach" && e.subject === "effector" && e.k === k);
      expect(said).toHaveLength(2 * own.length);
      own.forEach(({ difference, hotelling }, axis) => {
        expect(Number(said[2 * axis]!.split(" ")[0])).toBeCloseTo(difference.amplitude * 1e3, 0);
        expect(said[2 * axis + 1]).toMatch(hotelling!.p < 0.05 ? /^zero lies outside/ : /^zero lies inside/);
      });
      // every run is a mark in the close-up, and leads to its page
      const marks = page.locator("figure").nth(1).locator(".run-link");
      const marked: string[] = await marks.evaluateAll((all) => all.map((a) => a.getAttribute("data-run")));
      expect(marked).toHaveLength(3 * used.length);
      expect([...new Set(marked)].sort()).toEqual(used.map(({ id }) => id).sort());
    }
    await page.reload();
    await drawn(page, "Arm-synchronous error, reach");
    expect(await page.getByRole("radio", { name: "2", exact: true }).isChecked()).toBe(true);
  });

  test("every page can be opened by its link, and is the same after a reload", async () => {
    const { page, address } = dashboard;
    for (const { hash: link, title } of Object.values(places)) {
      await visit(page, `${address}/${link}`);
      await drawn(page, title);
      const before = await page.locator("main").innerText();
      await page.reload();
      await drawn(page, title);
      await vi.waitFor(async () => expect(await page.locator("main").innerText()).toBe(before), { timeout: 5000 });
      expect(hash()).toBe(link);
    }
  });

  test("two runs are compared by phase, path and spectrum, and any other may be put in the place of one", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/${places.compare.hash}`);
    const paths = page.locator(".mean-paths");
    await paths.locator("figure svg").waitFor();
    /** how wide the second run's path is drawn for what the command is wide */
    const width = (): Promise<number> =>
      paths.locator("figure svg").evaluate((svg) => {
        const [mean, command] = ["[clip-path] .compared-candidate .compared-mean", ".path.command"].map((name) =>
          Number(svg.querySelector(name).getBBox().width),
        );
        return mean! / command!;
      });
    // the first run's command, and the second's mean error, in bins of 5 degrees of the cycle
    const [one, two] = await Promise.all(
      ["flight-01", "flight-02"].map((run) =>
        dashboard.ask<CyclesAnswer>(`/api/runs/${run}/cycles?subject=effector&points=72`),
      ),
    );
    const series = await dashboard.ask<SeriesAnswer>("/api/runs/flight-01/series?subject=effector&points=4000");
    const bins = Array.from({ length: 72 }, (): number[] => []);
    for (const line of series.path.command)
      line.t.forEach((t, k) => {
        const [from, to] = one!.cycles.find(({ window }) => window[0] <= t && t < window[1])?.window ?? [0, 0];
        if (to > from) bins[Math.floor((72 * (t - from)) / (to - from))]!.push(line.y[k]!);
      });
    const wide = (times: number): number => {
      const y = bins.map((own, k) => own.reduce((sum, v) => sum + v, 0) / own.length + times * two!.mean.y[k]!);
      return Math.max(...y) - Math.min(...y);
    };
    // a whole pixel of some 400 is 0.3 %, and the service thins a longer stretch a little more
    expect((await width()) / (wide(1) / wide(0))).toBeCloseTo(1, 1.7);
    await page.getByRole("radio", { name: "×10" }).check();
    expect((await width()) / (wide(10) / wide(0))).toBeCloseTo(1, 1.7);
    expect(wide(10)).toBeGreaterThan(2 * wide(1));
    await page.getByRole("heading", { name: "Spectra" }).waitFor();
    await page.getByRole("combobox", { name: "with" }).selectOption("flight-09");
    await drawn(page, "flight-01 and flight-09");
    expect(hash()).toBe("#/compare/flight-01/flight-09/effector");
  });

  test("a figure leads to the paragraph of the manual that says how it is computed", async () => {
    const { page, address } = dashboard;
    const found = new Set<string>();
    for (const { hash: link, title } of [places.cell, places.run, places.why, places.synchronous, places.plan]) {
      await visit(page, `${address}/${link}`);
      await drawn(page, title);
      for (const href of await page.locator("a.how").evaluateAll((all) => all.map((a) => a.getAttribute("href"))))
        found.add(href as string);
    }
    expect(found.size).toBeGreaterThanOrEqual(10);
    for (const href of found) {
      const [path, anchor] = href.split("#");
      const manual = await (await fetch(`${address}${path}`)).text();
      expect(manual.split(` id="${anchor}"`), href).toHaveLength(2);
    }
  });

  test("an address that leads nowhere says so and leads back", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/cell/orbit/vehicle/q/rms`);
    await drawn(page, "Not found");
    await page.getByRole("link", { name: "To the answer" }).click();
    await drawn(page, "Answer");
    expect(dashboard.faults).toEqual([]);
    // a run that is none: the service refuses, the page says what and which there are
    await visit(page, `${address}/#/run/flight-99`);
    await page.getByRole("alert").filter({ hasText: "flight-99" }).waitFor();
    const { runs } = await dashboard.evaluation();
    expect(await page.locator(".all-runs a").allInnerTexts()).toEqual(runs.map(({ id }) => id));
    await page.getByRole("link", { name: "flight-03" }).click();
    await drawn(page, "Run flight-03");
    dashboard.faults.splice(0);
  });

  test("nothing went wrong meanwhile: no console error, no refusal, no request off the machine", () => {
    expect(dashboard.faults).toEqual([]);
  });
});
