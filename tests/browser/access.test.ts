import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { kinds, places } from "./places.ts";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

interface Violation {
  readonly id: string;
  readonly impact: string;
  readonly nodes: readonly { readonly target: readonly string[]; readonly failureSummary: string }[];
}

describeWith(["chromium"], "the dashboard for every reader", () => {
  let dashboard: Dashboard;
  beforeAll(async () => {
    dashboard = await openDashboard();
  });
  afterAll(() => dashboard?.close());

  // the variants hold the same parts in the same colours
  for (const [colorScheme, pages] of [["light", Object.entries(places)] as const, ["dark", kinds] as const]) {
    test(`axe-core finds nothing serious and headings are in order on every page, ${colorScheme}`, async () => {
      const page = await dashboard.reader({ colorScheme });
      const found: Record<string, string[]> = {};
      for (const [name, { hash, title }] of pages) {
        await visit(page, `${dashboard.address}/${hash}`);
        await drawn(page, title);
        await expectOrder(page, name);
        // by the browser's own door: the page's policy lets no script in
        await page.evaluate(axe);
        // the dark page differs in its colours alone
        const rules = colorScheme === "dark" ? `, runOnly: ["color-contrast"]` : "";
        const { violations } = (await page.evaluate(`axe.run(document, { resultTypes: ["violations"]${rules} })`)) as {
          violations: Violation[];
        };
        const serious = violations.filter(({ impact }) => impact === "serious" || impact === "critical");
        found[name] = serious.flatMap(({ id, nodes }) =>
          nodes.map(({ target, failureSummary }) => `${id}: ${target.join(" ")}: ${failureSummary}`),
        );
      }
      await page.context().close();
      expect(found).toEqual(Object.fromEntries(pages.map(([name]) => [name, []])));
    });
  }

  test("on paper the controls are gone, the page is light and the figures stay", async () => {
    const page = await dashboard.reader({ colorScheme: "dark" });
    for (const [name, { hash, title }] of kinds) {
      await visit(page, `${dashboard.address}/${hash}`);
      await drawn(page, title);
      await page.emulateMedia({ media: "print", colorScheme: "dark" });
      for (const control of ["button", "input", "nav", ".downloads"]) {
        const seen = await page
          .locator(`#app ${control}:visible`)
          .evaluateAll((all) => all.map((each) => (each.getAttribute("aria-label") ?? each.textContent) as string));
        // a remark's mark is part of the board: its number leads to the remark beneath
        expect(
          seen.filter((text) => !/^(fragile|see) \[\d+\]$/.test(text)),
          `${name}: ${control}`,
        ).toEqual([]);
      }
      expect(await page.locator("main").innerText(), name).not.toBe("");
      const paper = await page
        .locator(":root")
        .evaluate((root) => root.ownerDocument.defaultView.getComputedStyle(root).backgroundColor as string);
      expect(paper, name).toMatch(/rgb\(255, 255, 255\)|rgba\(0, 0, 0, 0\)/);
      await page.emulateMedia({ media: "screen", colorScheme: "dark" });
    }
    await page.context().close();
  });

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

/** Headings go down by one level at a time; one first heading, one main. */
async function expectOrder(page: Page, name: string): Promise<void> {
  const levels = await page
    .locator("h1, h2, h3, h4")
    .evaluateAll((headings) => headings.map((heading) => Number(heading.tagName.slice(1)) as number));
  expect(
    levels.filter((level) => level === 1),
    name,
  ).toHaveLength(1);
  levels.forEach((level, k) => {
    expect(level, `${name}: heading ${k + 1}`).toBeLessThanOrEqual((levels[k - 1] ?? 0) + 1);
  });
  expect(await page.locator("main").count(), name).toBe(1);
}
