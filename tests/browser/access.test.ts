import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit, wide, widthsSettled } from "./openDashboard.ts";
import { kinds, places } from "./places.ts";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

interface Violation {
  readonly id: string;
  readonly impact: string;
  readonly nodes: readonly { readonly target: readonly string[]; readonly failureSummary: string }[];
}

describeWith(["chromium"], "the dashboard for every reader", () => {
  let dashboard: Dashboard;
  let page: Page;
  beforeAll(async () => {
    dashboard = await openDashboard();
    page = dashboard.page;
  });
  afterAll(() => dashboard?.close());

  // each page is opened once and looked at in all these ways: opening it takes longer than any of them
  for (const [name, { hash, title }] of Object.entries(places)) {
    // of the variants, which hold the same parts in the same colours, the dark page and the paper are left out
    const whole = kinds.some(([kind]) => kind === name);

    test(`${name}: headings in order, no wider than the window, nothing serious for axe-core, light and dark, figures with readable type at any width, and fit for paper`, async () => {
      await page.emulateMedia({ media: "screen", colorScheme: "light" });
      await visit(page, `${dashboard.address}/${hash}`);
      await drawn(page, title);
      await expectOrder(page);
      const root = page.locator(":root");
      const expectNarrow = async (): Promise<void> =>
        expect(await root.evaluate((html) => html.scrollWidth - html.clientWidth)).toBeLessThanOrEqual(0);
      await expectNarrow();
      // by the browser's own door: the page's policy lets no script in
      await page.evaluate(axe);
      expect(await seriousIn(page)).toEqual([]);
      await page.emulateMedia({ colorScheme: "dark" });
      await expectNarrow();
      if (!whole) return;
      for (const width of [380, 720, 1024, 1440]) {
        await page.setViewportSize({ width, height: 900 });
        expect(await wrongType(page), `at ${width}`).toEqual([]);
        await expectNarrow();
      }
      await page.setViewportSize(wide);
      // the dark page differs in its colours alone
      expect(await seriousIn(page, ["color-contrast"])).toEqual([]);
      await page.emulateMedia({ media: "print", colorScheme: "dark" });
      await expectPaper(page);
    });
  }

  test("the policy of every answer lets only the service's own files in, and the page needs no more", async () => {
    for (const path of ["/", "/api/campaign", "/api/export/cells.csv"]) {
      const policy = (await fetch(`${dashboard.address}${path}`)).headers.get("content-security-policy") ?? "";
      const rules = Object.fromEntries(policy.split(";").map((rule) => rule.trim().split(/ (.*)/) as [string, string]));
      expect(rules["default-src"], path).toBe("'none'");
      for (const kind of ["script-src", "style-src", "connect-src"]) expect(rules[kind], path).toBe("'self'");
      expect(policy).not.toContain("unsafe");
    }
  });

  test("nothing went wrong meanwhile: no console error, no refusal, no request off the machine", () => {
    expect(dashboard.faults).toEqual([]);
  });
});

/** What axe-core finds serious or worse, by all its rules or by these. */
async function seriousIn(page: Page, rules?: readonly string[]): Promise<string[]> {
  const options = { resultTypes: ["violations"], ...(rules === undefined ? {} : { runOnly: rules }) };
  const { violations } = (await page.evaluate(`axe.run(document, ${JSON.stringify(options)})`)) as {
    violations: Violation[];
  };
  return violations
    .filter(({ impact }) => impact === "serious" || impact === "critical")
    .flatMap(({ id, nodes }) =>
      nodes.map(({ target, failureSummary }) => `${id}: ${target.join(" ")}: ${failureSummary}`),
    );
}

/** On paper the controls are gone, the page is light and the figures stay. */
async function expectPaper(page: Page): Promise<void> {
  for (const control of ["button", "input", "nav", ".downloads"]) {
    const seen = await page
      .locator(`#app ${control}:visible`)
      .evaluateAll((all) => all.map((each) => (each.getAttribute("aria-label") ?? each.textContent) as string));
    // a remark's mark is part of the board: its number leads to the remark beneath
    expect(
      seen.filter((text) => !/^(fragile|see) \[\d+\]$/.test(text)),
      control,
    ).toEqual([]);
  }
  expect(await page.locator("main").innerText()).not.toBe("");
  const paper = await page
    .locator(":root")
    .evaluate((root) => root.ownerDocument.defaultView.getComputedStyle(root).backgroundColor as string);
  expect(paper).toMatch(/rgb\(255, 255, 255\)|rgba\(0, 0, 0, 0\)/);
}

/** Headings go down by one level at a time; one first heading, one main. */
async function expectOrder(page: Page): Promise<void> {
  const levels = await page
    .locator("h1, h2, h3, h4")
    .evaluateAll((headings) => headings.map((heading) => Number(heading.tagName.slice(1)) as number));
  expect(levels.filter((level) => level === 1)).toHaveLength(1);
  levels.forEach((level, k) => {
    expect(level, `heading ${k + 1}`).toBeLessThanOrEqual((levels[k - 1] ?? 0) + 1);
  });
  expect(await page.locator("main").count()).toBe(1);
}

/** Words of figures smaller than 11 or larger than 15 pixels as they are seen, once they are drawn for the window's width. */
async function wrongType(page: Page): Promise<string[]> {
  await widthsSettled(page);
  return page.locator(":root").evaluate((root) => {
    const { defaultView: window } = root.ownerDocument;
    const found: string[] = [];
    for (const text of root.querySelectorAll("svg text")) {
      // a folded part is drawn for its width when it is opened
      if (text.textContent === "" || !text.checkVisibility()) continue;
      const { a, b } = text.getScreenCTM();
      const pixels = Number.parseFloat(window.getComputedStyle(text).fontSize) * Math.hypot(a, b);
      // the width is rounded to whole pixels
      if (pixels < 10.95 || pixels > 15.05) found.push(`${text.textContent}: ${pixels.toFixed(1)} px`);
    }
    return found;
  });
}
