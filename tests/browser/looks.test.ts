import { mkdirSync, rmSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit, widthsSettled } from "./openDashboard.ts";
import { kinds, places } from "./places.ts";

const folder = join(import.meta.dirname, "screenshots");
const sizes = [
  { width: 1280, height: 800 },
  { width: 1920, height: 1080 },
] as const;

// the short suite looks at every page once, at 1280 x 800 (access.test.ts)
describeWith(["chromium", "slow"], "the dashboard as a person sees it", () => {
  let dashboard: Dashboard;
  beforeAll(async () => {
    dashboard = await openDashboard();
    rmSync(folder, { recursive: true, force: true });
    mkdirSync(folder, { recursive: true });
  });
  afterAll(() => dashboard?.close());

  for (const size of sizes) {
    test(`at ${size.width} x ${size.height} no page is wider than the window, light or dark, and figures keep their type at any width`, async () => {
      const page = await dashboard.reader({ viewport: size, colorScheme: "light" });
      for (const [name, { hash, title }] of size.width < 1900 ? Object.entries(places) : kinds) {
        await page.emulateMedia({ colorScheme: "light" });
        await visit(page, `${dashboard.address}/${hash}`);
        await drawn(page, title);
        const root = page.locator(":root");
        for (const colorScheme of ["light", "dark"] as const) {
          await page.emulateMedia({ colorScheme });
          expect(await root.evaluate((html) => html.scrollWidth - html.clientWidth), name).toBeLessThanOrEqual(0);
          // for a person to look at
          const path = join(folder, `${name}-${size.width}-${colorScheme}.png`);
          await page.screenshot({ path, fullPage: true });
        }
        if (size.width >= 1900) continue;
        for (const width of [380, 720, 1024, 1440]) {
          await page.setViewportSize({ width, height: 900 });
          expect(await typeSizes(page), `${name} at ${width}`).toEqual([]);
        }
        await page.setViewportSize(size);
      }
      await page.context().close();
      expect(dashboard.faults).toEqual([]);
    });
  }
});

/** Words of figures that are smaller than 11 or larger than 15 pixels as they are seen, once they are drawn for the window's width. */
async function typeSizes(page: Page): Promise<string[]> {
  await widthsSettled(page);
  return page.locator(":root").evaluate((root) => {
    const { defaultView: window } = root.ownerDocument;
    const found: string[] = [];
    for (const text of root.querySelectorAll("svg text")) {
      // a folded part is drawn for its width when it is opened
      if (text.textContent === "" || !text.checkVisibility()) continue;
      const { a, b } = text.getScreenCTM();
      const pixels = Number.parseFloat(window.getComputedStyle(text).fontSize) * Math.hypot(a, b);
      // half a pixel of the frame's width is rounded
      if (pixels < 10.95 || pixels > 15.05) found.push(`${text.textContent}: ${pixels.toFixed(1)} px`);
    }
    return found;
  });
}
