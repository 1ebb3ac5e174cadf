import { mkdirSync, rmSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
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
    test(`at ${size.width} x ${size.height} no page is wider than the window, light or dark`, async () => {
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
      }
      await page.context().close();
      expect(dashboard.faults).toEqual([]);
    });
  }
});
