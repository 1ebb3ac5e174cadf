import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import { describeWith, missing } from "../support/available.ts";
import { drawn, type OwnDashboard, openOwnDashboard, visit } from "./openDashboard.ts";

const slow = missing("slow") === null;
/** a browser keeps six connections to a service: with a stream each, the seventh tab stays white */
const count = slow ? 20 : 8;
/** a person waits no longer; a machine that runs other tests beside this one takes longer, so the short suite asks that they come at all */
const patience = slow ? 2000 : 60_000;

describeWith(["chromium"], "many tabs of one browser", () => {
  let dashboard: OwnDashboard;
  let tabs: Page[] = [];
  let first: Page;
  let streams = 0;
  beforeAll(async () => {
    dashboard = await openOwnDashboard();
    first = await dashboard.reader();
    const context = first.context();
    context.on("request", (request) => {
      if (request.url().endsWith("/api/progress")) streams++;
    });
    await visit(first, `${dashboard.address}/#/`);
  });
  afterAll(() => dashboard?.close());

  test(`${count} are drawn, and share one stream of events`, async () => {
    const context = first.context();
    const took: number[] = [];
    for (let k = 1; k < count; k++) {
      const page = await context.newPage();
      page.setDefaultTimeout(60_000);
      const start = Date.now();
      await page.goto(`${dashboard.address}/#/`);
      await drawn(page, "Answer");
      took.push(Date.now() - start);
      tabs.push(page);
    }
    expect(Math.max(...took)).toBeLessThan(patience);
    expect(streams).toBe(1);
  });

  test("when the one that listens is closed, another does: a change on disk reaches all", async () => {
    await first.close();
    await vi.waitFor(() => expect(streams).toBe(2), { timeout: 30_000 });
    const manifest = join(dashboard.folder, "campaign.yaml");
    const text = readFileSync(manifest, "utf8");
    writeFileSync(manifest, text.replace("autumn trials", "winter trials"));
    await vi.waitFor(
      async () => {
        for (const tab of tabs) expect(await tab.title()).toContain("winter trials");
      },
      { timeout: 60_000, interval: 500 },
    );
    expect(streams).toBe(2);
    for (const tab of tabs.slice(1)) await tab.close();
    tabs = tabs.slice(0, 1);
  });

  test("eight visits by address in one tab are all drawn: a page that is left lets its connection go", async () => {
    for (let k = 0; k < 8; k++) {
      const start = Date.now();
      await visit(tabs[0]!, `${dashboard.address}/#/${k % 2 === 0 ? "" : "audit"}`);
      await drawn(tabs[0]!, k % 2 === 0 ? "Answer" : "Audit");
      expect(Date.now() - start).toBeLessThan(patience);
    }
  });

  test("nothing went wrong meanwhile", () => {
    expect(dashboard.faults).toEqual([]);
  });
});
