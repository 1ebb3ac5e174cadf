import { afterAll, beforeAll, expect, test } from "vitest";
import { typeset } from "../../client/app/words.ts";
import type { CostsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { costCautions, costRows } from "../../src/words/costWords.ts";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { isRounded, numbersIn } from "./shownNumber.ts";

describeWith(["chromium"], "what it costs", () => {
  let dashboard: Dashboard;
  beforeAll(async () => {
    dashboard = await openDashboard();
    await visit(dashboard.page, `${dashboard.address}/#/costs`);
    await drawn(dashboard.page, "What it costs");
  });
  afterAll(() => dashboard?.close());

  test("every figure of the evaluation stands there, each with where it comes from", async () => {
    const { costs } = await dashboard.ask<CostsAnswer>("/api/costs");
    const rows = await dashboard.page.locator(".costs-figures tbody tr").allInnerTexts();
    const expected = costRows(costs!);
    expect(rows.length).toBe(expected.length);
    expect(rows.length).toBeGreaterThan(8);
    expected.forEach(({ factor, of }, k) => {
      const cells = rows[k]!.split("\t").slice(1);
      ["bare", "weighted"].forEach((name, column) => {
        const figure = of(costs!.configurations[name]!);
        if (figure === null) {
          expect(cells[column]).toBe("–");
          return;
        }
        expect(isRounded(numbersIn(cells[column]!)[0]!, factor * figure.value), rows[k]).toBe(true);
        expect(cells[column]).toMatch(/, (measured|by law|declared)/);
      });
    });
  });

  test("the sample's own fall below a thrust-to-weight of two is said, here and beside the verdicts", async () => {
    const { page, address } = dashboard;
    const { costs } = await dashboard.ask<CostsAnswer>("/api/costs");
    const finding = costs!.findings.find(({ code }) => code === "thrust-below-two")!;
    expect(await page.locator(".finding").allInnerTexts()).toEqual([expect.stringContaining(typeset(finding.message))]);
    for (const text of [costCautions.all, costCautions.thrust, costCautions.minutes, costCautions.weights])
      expect(await page.locator("main").innerText()).toContain(text);
    await visit(page, `${address}/#/`);
    await drawn(page, "Answer");
    expect(await page.locator(".answer-place").innerText()).toMatch(
      /hover takes [\d.]+ % more power .* thrust to weight is 1\.83 instead of 2\.04 \(declared thrust\), below the 2 of common practice/,
    );
    await page.locator(".answer-place").getByRole("link", { name: "What it costs" }).click();
    await drawn(page, "What it costs");
  });

  test("the file has every figure in SI with its interval", async () => {
    const { costs } = await dashboard.ask<CostsAnswer>("/api/costs");
    const text = await (await fetch(`${dashboard.address}/api/export/costs.csv`)).text();
    const [head, ...rows] = text.trim().split("\n");
    expect(head).toBe("configuration,figure,value (SI),95 % interval from,95 % interval to,range from,range to,source");
    const power = rows.find((row) => row.startsWith("weighted,hover power,"))!.split(",");
    const { value, ci95 } = costs!.configurations.weighted!.hover_power!;
    expect(power.slice(2, 5).map(Number)).toEqual([value, ...ci95!]);
    expect(power.at(-1)).toBe("measured");
  });
});
