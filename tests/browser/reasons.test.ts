import { afterAll, beforeAll, expect, test } from "vitest";
import { typeset } from "../../client/app/words.ts";
import type { AuditAnswer, PlanAnswer, ReasonsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { isRounded, numbersIn } from "./shownNumber.ts";

describeWith(["chromium"], "why, audit and next flights", () => {
  let dashboard: Dashboard;
  beforeAll(async () => {
    dashboard = await openDashboard();
  });
  afterAll(() => dashboard?.close());

  const open = async (hash: string, title: string): Promise<void> => {
    await visit(dashboard.page, `${dashboard.address}/${hash}`);
    await drawn(dashboard.page, title);
  };
  const rowsOf = (table: string): Promise<string[]> =>
    dashboard.page.locator(`table:has(caption:text-is("${table}"))`).locator("tbody tr").allInnerTexts();
  const expectShown = (row: string, values: readonly number[], what: string): void => {
    const shown = numbersIn(row.split("\t").slice(1).join(" "));
    values.forEach((value, k) => {
      expect(isRounded(shown[k]!, value), `${what}: ${shown[k]?.value} of ${value} in ${row}`).toBe(true);
    });
  };

  test("the navigation leads to all three pages by keyboard alone", async () => {
    const { page } = dashboard;
    for (const [name, title] of [
      ["Why", "Why"],
      ["Audit", "Audit"],
      ["Next flights", "Next flights"],
    ] as const) {
      await open("#/", "Answer");
      await page.getByRole("navigation", { name: "Pages" }).getByRole("link", { name, exact: true }).focus();
      await page.keyboard.press("Enter");
      await drawn(page, title);
    }
  });

  test("displacement ratios, amplitudes and p are those of the evaluation, the small harmonics folded away", async () => {
    await open("#/why", "Why");
    const { reasons } = await dashboard.ask<ReasonsAnswer>("/api/reasons");
    for (const folded of await dashboard.page.getByText(/^The \d+ smaller harmonics$/).all()) await folded.click();
    const shown = [...(await rowsOf("Amplitudes and tests, orbit")), ...(await rowsOf("Smaller harmonics, orbit"))];
    const own = reasons.synchronous.filter(({ trajectory }) => trajectory === "orbit");
    expect(shown.length).toBe(own.length);
    for (const one of own) {
      const row = shown.find((text) => text.startsWith(`${one.subject} ${one.axis} ${one.k}×`))!;
      // no ratio without an upper limit to it
      const ratio = one.ratio_ci95?.[1] == null ? [] : [one.ratio!];
      expectShown(row, [1e3 * one.baseline.amplitude, 1e3 * one.candidate.amplitude, ...ratio], "effect");
    }
    // one line of the drawing for each row of the first table
    const lines = await dashboard.page.locator(".why-synchronous svg").first().locator("rect.estimate").count();
    const drawn = (await rowsOf("Amplitudes and tests, orbit")).filter((row) => !row.includes("at least")).length;
    expect(drawn).toBeGreaterThan(0);
    expect(lines).toBe(drawn);
  });

  test("the error budget draws millimetres: every configuration's bar is as long as its rms, on one scale for all trajectories", async () => {
    await open("#/why", "Why");
    const { reasons } = await dashboard.ask<ReasonsAnswer>("/api/reasons");
    const trajectories = [...new Set(reasons.budget.map(({ trajectory }) => trajectory))];
    const expected = trajectories.flatMap((trajectory) =>
      (["x", "y", "z", "norm"] as const).flatMap((channel) =>
        reasons.budget.filter((one) => one.trajectory === trajectory).map((one) => one[channel].rms),
      ),
    );
    const lengths = await dashboard.page.locator(".why-budget svg").evaluateAll((drawings) =>
      drawings.flatMap((drawing) => {
        const zero = Number(drawing.querySelector("line.zero").getAttribute("x1")) as number;
        const parts = [...drawing.querySelectorAll(".part[height='15']")];
        // three parts a bar; a part left of zero takes away from what reaches right of it
        return parts.flatMap((_: unknown, k: number) =>
          k % 3 > 0
            ? []
            : [
                parts.slice(k, k + 3).reduce((sum: number, part) => {
                  const [x, width] = ["x", "width"].map((name) => Number(part.getAttribute(name))) as [number, number];
                  return sum + (x < zero - 1e-9 ? -width : width);
                }, 0) as number,
              ],
        );
      }),
    );
    expect(lengths).toHaveLength(expected.length);
    expect(new Set(expected).size).toBeGreaterThan(8);
    const perMetre = lengths[0]! / expected[0]!;
    // both sides are doubles: what remains is rounding
    for (const [k, length] of lengths.entries()) expect(Math.abs(length / perMetre - expected[k]!)).toBeLessThan(1e-9);
  });

  test("the frames' reach, the suggestion with its cautions, and the variance components are reported", async () => {
    const { reasons, moving, imbalance } = await dashboard.ask<ReasonsAnswer>("/api/reasons");
    const frames = await rowsOf("The difference at its least and largest with the frames off");
    reasons.frames.forEach((one, k) => {
      const cells = frames[k]!.split("\t");
      [one.difference, one.worst, one.lowest.difference, one.highest.difference].forEach((value, i) => {
        expect(isRounded(numbersIn(cells[2 + i]!)[0]!, 1e3 * value)).toBe(true);
      });
      expect(cells[7]).toBe(one.verdict);
    });
    const words = await dashboard.page.locator(".why-imbalance").innerText();
    for (const sentence of imbalance) expect(words).toContain(sentence);
    const moves = await dashboard.page.locator(".why-moving").innerText();
    for (const { text, items } of moving) for (const sentence of [text, ...items]) expect(moves).toContain(sentence);
    expect(moving[0]!.text).toMatch(/^orbit, along y: as flown, the counterweights took away/);
    expect(await dashboard.page.locator(".moving-drawing circle.run").count()).toBe(
      reasons.moving.flatMap(({ configurations }) => Object.values(configurations).flatMap(({ values }) => values))
        .length,
    );
    const rows = await dashboard.page.locator(".why-components tbody tr").allInnerTexts();
    reasons.components.forEach((one, k) => {
      const cells = rows[k]!.split("\t");
      expect(isRounded(numbersIn(cells[1]!)[0]!, 1e3 * one.between_runs)).toBe(true);
      expect(isRounded(numbersIn(cells[3]!)[0]!, 1e3 * one.between_cycles)).toBe(true);
      expect(cells.at(-1)).toBe(one.helps);
    });
  });

  test("the audit tells its findings with what to do, the order flown and what a drift would fake by it", async () => {
    await open("#/audit", "Audit");
    const { audit, fitted } = await dashboard.ask<AuditAnswer>("/api/audit");
    const findings = await dashboard.page.locator(".finding").allInnerTexts();
    audit.findings.forEach(({ message, hint }, k) => {
      expect(findings[k]).toContain(typeset(message));
      expect(findings[k]).toContain(typeset(hint));
    });
    for (const { trajectory, sequence, faked } of audit.order) {
      const marks = dashboard.page.getByRole("list", { name: `Order flown in ${trajectory}` }).locator("li");
      expect(await marks.count()).toBe(sequence.length);
      const words = await dashboard.page.locator(`.audit-order div:has(> h3:text-is("In ${trajectory}"))`).innerText();
      const told = /fake a difference of ([\d.]+) %/.exec(words)![1]!;
      expect(isRounded(numbersIn(told)[0]!, 100 * Math.abs(faked!))).toBe(true);
    }
    const blocks = await rowsOf("Used runs, of those filed, and their mean heading");
    expect(blocks.length).toBe(audit.blocks.length);
    audit.blocks.forEach(({ trajectory, block, configurations: { bare, weighted } }, k) => {
      const [first, second] = [bare!, weighted!].map(({ used, filed }) => `${used} of ${filed}`);
      // all runs of the sample face along x: 0 degrees, of either sign
      expect(blocks[k]).toMatch(new RegExp(`^${trajectory}\\t${block}\\t${first}, −?0°\\t${second}, −?0°$`));
    });
    await dashboard.page.locator(".audit-fitted summary").click();
    expect((await rowsOf("Fitted or applied")).length).toBe(fitted.length);
  });

  test("the plan's forecasts and order are the service's; what is asked for goes into the address and comes back", async () => {
    await open("#/plan", "Next flights");
    const advised = await dashboard.ask<PlanAnswer>("/api/plan");
    const rows = await rowsOf("Per cell");
    advised.plan.cells.forEach((cell, k) => {
      const cells = rows[k]!.split("\t");
      expect(isRounded(numbersIn(cells[4]!)[0]!, 1e3 * cell.half_width.middle)).toBe(true);
      expect(isRounded(numbersIn(cells[5]!)[0]!, 1e3 * cell.detectable.middle)).toBe(true);
      expect(numbersIn(cells[6]!)[0]!.value).toBe(cell.runs_for_difference!.middle);
      expect(numbersIn(cells[7]!)[0]!.value).toBe(cell.runs_for_equivalence!.middle);
    });
    const { page } = dashboard;
    await page.getByRole("spinbutton", { name: /Runs to fly/ }).fill("4");
    await page.getByRole("spinbutton", { name: /Blocks/ }).fill("2");
    await page.keyboard.press("Enter");
    await page.waitForURL(/runs=4&blocks=2/);
    await drawn(page, "Next flights");
    const asked = await dashboard.ask<PlanAnswer>("/api/plan?runs=4&blocks=2");
    await page.getByText(`seed ${asked.day.seed}`).waitFor();
    const order = await page.locator(".plan-order tbody tr").allInnerTexts();
    expect(order.length).toBe(asked.day.cards.length);
    asked.day.cards.forEach(({ place, log, trajectory }, k) => {
      const cells = order[k]!.split("\t");
      expect([cells[0], cells[6]]).toEqual([String(place), log]);
      expect(cells[4]).toBe(trajectory ?? "");
    });
    const before = page.url();
    await page.getByRole("button", { name: "Another order" }).click();
    await page.waitForURL((address) => address.href !== before && /seed=\d+/.test(address.href));
    await drawn(page, "Next flights");
  });

  test("runs file and test cards can be taken along, with the order that is shown", async () => {
    await open("#/plan?runs=3&blocks=1&seed=5", "Next flights");
    const { day } = await dashboard.ask<PlanAnswer>("/api/plan?runs=3&blocks=1&seed=5");
    const csv = await (await fetch(`${dashboard.address}/api/export/next-runs.csv?runs=3&blocks=1&seed=5`)).text();
    expect(csv).toBe(day.runs_csv);
    const link = dashboard.page.getByRole("link", { name: "next-runs.csv" });
    expect(await link.getAttribute("href")).toBe("/api/export/next-runs.csv?runs=3&blocks=1&seed=5");
    const cards = await fetch(`${dashboard.address}/api/export/test-cards.html?runs=3&blocks=1&seed=5`);
    expect(cards.headers.get("content-disposition")).toContain("attachment");
    expect(await cards.text()).toContain("flight-21.bag");
  });

  test("at the width of a telephone no page scrolls sideways", async () => {
    const page = await dashboard.reader({ viewport: { width: 360, height: 800 } });
    for (const [hash, title] of [
      ["#/why", "Why"],
      ["#/audit", "Audit"],
      ["#/plan", "Next flights"],
    ] as const) {
      await visit(page, `${dashboard.address}/${hash}`);
      await drawn(page, title);
      const wider = await page.evaluate("document.documentElement.scrollWidth - window.innerWidth");
      expect(wider, hash).toBeLessThanOrEqual(0);
    }
    await page.context().close();
  });

  test("nothing went wrong on the way", () => expect(dashboard.faults).toEqual([]));
});
