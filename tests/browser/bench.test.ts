import { afterAll, beforeAll, expect, test } from "vitest";
import type { BenchAnswer } from "../../src/contract/api/cellAnswers.ts";
import { channelWords } from "../../src/words/benchWords.ts";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { isRounded, numbersIn } from "./shownNumber.ts";

describeWith(["chromium"], "the page of the bench", () => {
  let dashboard: Dashboard;
  let bench: BenchAnswer["bench"];
  beforeAll(async () => {
    dashboard = await openDashboard();
    ({ bench } = await dashboard.ask<BenchAnswer>("/api/bench"));
    await visit(dashboard.page, `${dashboard.address}/#/bench`);
    await drawn(dashboard.page, "On the bench");
  });
  afterAll(() => dashboard?.close());

  const familyOf = (trajectory: string) =>
    bench.cells
      .filter((cell) => cell.trajectory === trajectory && cell.verdict !== null)
      .sort((a, b) => a.channel.localeCompare(b.channel) || a.speed! - b.speed!);

  test("every cell of the family stands there with both rms, what is taken away, its interval, refits and verdict", async () => {
    const trajectories = [...new Set(bench.runs.map(({ trajectory }) => trajectory))];
    expect(trajectories).toEqual(["orbit", "reach", "sweep"]);
    for (const trajectory of trajectories) {
      const rows = await dashboard.page
        .locator(`table:has(caption:text("Shaking force and moment in ${trajectory}:"))`)
        .locator("tbody tr")
        .allInnerTexts();
      const family = familyOf(trajectory);
      expect(rows.length).toBe(family.length);
      family.forEach((cell, k) => {
        const [speed, channel, bare, weighted, unit, taken, interval, refits, , verdict] = rows[k]!.split("\t");
        expect([speed, channel, verdict]).toEqual([cell.speed_label, channelWords[cell.channel], cell.verdict]);
        const rms = bench.cells.find(
          (one) =>
            one.trajectory === trajectory &&
            one.speed === cell.speed &&
            one.channel === cell.channel &&
            one.harmonic === "cycle",
        )!;
        expect(unit).toBe(cell.channel.startsWith("f") ? "N" : "N m");
        expect(isRounded(numbersIn(bare!)[0]!, rms.baseline.mean)).toBe(true);
        expect(isRounded(numbersIn(weighted!)[0]!, rms.candidate.mean)).toBe(true);
        const share = 100 * cell.reduction!;
        const shown = taken!.startsWith("over-balanced") ? share - 100 : Math.abs(share);
        expect(isRounded(numbersIn(taken!)[0]!, shown), taken).toBe(true);
        for (const [side, end] of numbersIn(interval!).entries())
          expect(isRounded(end, 100 * cell.ci95![side]!)).toBe(true);
        expect(refits).toBe(String(cell.refits));
      });
    }
  });

  test("the drawing of what is taken away puts every mark as far from zero as its share, on one scale", async () => {
    const family = familyOf("reach");
    const drawing = dashboard.page.locator(".bench-trajectory").nth(1).locator("svg").first();
    const places = await drawing.evaluate((svg) => ({
      zero: Number(svg.querySelector("line.zero").getAttribute("x1")) as number,
      all: Number(svg.querySelector("line.target").getAttribute("x1")) as number,
      marks: [...svg.querySelectorAll("rect.estimate")].map((mark) => Number(mark.getAttribute("x")) + 4) as number[],
    }));
    expect(places.marks.length).toBe(family.length);
    // doubles on both sides
    for (const [k, cell] of family.entries())
      expect((places.marks[k]! - places.zero) / (places.all - places.zero)).toBeCloseTo(cell.reduction!, 9);
  });

  test("growth keeps gravity apart from inertia, and closure says whether force and moment agree", async () => {
    for (const one of bench.growth.filter(({ trajectory }) => trajectory === "sweep")) {
      const label = one.configuration === "bare" ? "Arm alone" : "Counterweights fitted";
      const row = await dashboard.page
        .locator('table:has(caption:text("Growth with speed in sweep:")) tbody tr')
        .filter({ hasText: channelWords[one.channel] })
        .filter({ hasText: label })
        .innerText();
      const values = [one.exponent, one.gravity?.value ?? null, one.inertial?.value ?? null];
      const shown = [2, 4, 6].map((column) => row.split("\t")[column]!);
      for (const [k, value] of values.entries()) {
        if (value === null) expect(shown[k]).toBe("–");
        else expect(isRounded(numbersIn(shown[k]!)[0]!, value), shown[k]).toBe(true);
      }
    }
    const rows = await dashboard.page.locator(".bench-closure tbody tr").allInnerTexts();
    expect(rows.length).toBe(bench.closure.filter(({ ratio }) => ratio !== null).length);
    for (const row of rows) expect(row.endsWith("yes")).toBe(true);
  });

  test("a run that is pointed at in the drawing lights up in the table of runs", async () => {
    const { page } = dashboard;
    await page.getByText(`All ${bench.runs.length} runs`).click();
    const mark = page.locator(".bench-trajectory path.run-mark[data-run]").first();
    const run = await mark.getAttribute("data-run");
    // others lie over it: the event is what matters
    await mark.dispatchEvent("pointerover");
    expect(await page.locator(".bench-runs tr.lit").innerText()).toContain(run);
  });

  test("all cells can be taken along, and a link leads to bench and flights side by side", async () => {
    const csv = await (await fetch(`${dashboard.address}/api/export/bench.csv`)).text();
    const lines = csv.trimEnd().split("\n");
    expect(lines.length).toBe(bench.cells.length + 1);
    const heads = lines[0]!.split(",");
    const cell = bench.cells[0]!;
    expect(Number(lines[1]!.split(",")[heads.indexOf("baseline mean")])).toBe(cell.baseline.mean);
    const link = dashboard.page.getByRole("link", { name: "bench.csv" });
    expect(await link.getAttribute("href")).toBe("/api/export/bench.csv");
    await dashboard.page.locator("main").getByRole("link", { name: "Why", exact: true }).click();
    await drawn(dashboard.page, "Why");
    await dashboard.page.getByRole("heading", { name: "Bench and flights side by side" }).waitFor();
  });

  test("nothing went wrong on the way", () => expect(dashboard.faults).toEqual([]));
});
