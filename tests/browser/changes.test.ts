import { copyFileSync, existsSync, readFileSync, rmSync, truncateSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import { parse } from "yaml";
import { describeWith } from "../support/available.ts";
import { drawn, type OwnDashboard, openOwnDashboard, stateOf, visit } from "./openDashboard.ts";

/** an evaluation again, of which single runs are read again */
const patience = { timeout: 30_000, interval: 100 };

describeWith(["chromium"], "what changes while the dashboard is open", () => {
  let dashboard: OwnDashboard;
  beforeAll(async () => {
    dashboard = await openOwnDashboard();
  });
  afterAll(() => dashboard?.close());

  const status = (): Promise<string> => dashboard.page.locator(".status").innerText();
  const use = (run: string): Promise<string> => dashboard.page.locator(`tr[data-run="${run}"] td.use`).innerText();

  test("a run is left out with a reason by mouse, and put back by keyboard: on disk, in the verdicts, in the count of looks", async () => {
    const { page, address, folder } = dashboard;
    const kept = join(folder, "exclusions.yaml");
    const before = await dashboard.evaluation();
    expect(existsSync(kept)).toBe(false);
    await visit(page, `${address}/#/`);
    await page.getByRole("button", { name: "Exclude flight-12" }).click();
    const dialog = page.getByRole("dialog");
    await dialog.getByRole("button", { name: "Exclude flight-12" }).click();
    await dialog.getByText("Please give the reason in words").waitFor();
    expect(existsSync(kept)).toBe(false);
    await dialog.getByRole("textbox").fill("swab caught on a weld seam in cycle 4");
    await dialog.getByRole("button", { name: "Exclude flight-12" }).click();
    await vi.waitFor(
      async () => expect(await use("flight-12")).toBe("excluded (here): swab caught on a weld seam in cycle 4"),
      patience,
    );
    const { exclusions } = parse(readFileSync(kept, "utf8")) as { exclusions: Record<string, unknown>[] };
    expect(exclusions).toMatchObject([{ run: "flight-12", reason: "swab caught on a weld seam in cycle 4" }]);
    const left = await dashboard.evaluation();
    expect(left.looks.count).toBe(before.looks.count + 1);
    expect(left.runs.find(({ id }) => id === "flight-12")?.used).toBe(false);
    expect(await page.locator(".page-header").innerText()).toContain(`look ${left.looks.count} at these flights`);
    // the verdict both ways: flight-12 is one of those by which "no difference that matters" hangs: the vehicle along z and the effector along y in reach
    const both = await page.locator(".both-ways").innerText();
    expect(both).toMatch(/^With flight-12 put back, which a person excluded,/);
    const changed = left.cells.filter(({ in_family, verdict, verdict_all_runs: all }) => in_family && all !== verdict);
    expect(changed.length).toBeGreaterThan(0);
    for (const { subject, axis, trajectory, verdict, verdict_all_runs } of changed) {
      expect(both).toContain(
        `${trajectory}, ${subject} along ${axis} would be “${verdict_all_runs}” instead of “${verdict}”`,
      );
    }
    await page.getByRole("button", { name: "Include again flight-12" }).focus();
    await page.keyboard.press("Enter");
    await vi.waitFor(async () => expect(await use("flight-12")).toBe("used"), patience);
    expect(await page.locator(".both-ways").count()).toBe(0);
    const back = await dashboard.evaluation();
    expect(back.cells.map(({ verdict }) => verdict)).toEqual(before.cells.map(({ verdict }) => verdict));
    expect((parse(readFileSync(kept, "utf8")) as { exclusions: unknown[] | null }).exclusions ?? []).toEqual([]);
  });

  test("the dialog that asks for a reason is left by Escape without any change", async () => {
    const { page, folder } = dashboard;
    const kept = readFileSync(join(folder, "exclusions.yaml"), "utf8");
    await page.getByRole("button", { name: "Exclude flight-10" }).focus();
    await page.keyboard.press("Enter");
    await page.getByRole("dialog").getByRole("textbox").fill("not to be kept");
    await page.keyboard.press("Escape");
    await page.getByRole("dialog").waitFor({ state: "detached" });
    expect(await use("flight-10")).toBe("used");
    expect(readFileSync(join(folder, "exclusions.yaml"), "utf8")).toBe(kept);
    // the focus is back where it was
    expect(await page.locator(":focus").getAttribute("aria-label")).toBe("Exclude flight-10");
  });

  test("a manifest broken on disk: the last good evaluation stays, the fault is shown with place and hint, and is gone once mended", async () => {
    const { page, address, folder } = dashboard;
    const manifest = join(folder, "campaign.yaml");
    const good = readFileSync(manifest, "utf8");
    await visit(page, `${address}/#/`);
    const before = await page.locator("main").innerText();
    writeFileSync(manifest, good.replace("candidate: weighted", "candidate: wieghted"));
    await vi.waitFor(async () => expect(await status()).toContain("The evaluation failed"), patience);
    const { error } = await stateOf(dashboard, ({ status: now }) => now === "failed");
    const said = await status();
    expect(said).toContain("the last good evaluation is shown");
    for (const part of [error!.message, error!.place!, error!.hint!]) expect(said).toContain(part);
    expect(said).toContain("campaign.yaml");
    expect(await page.locator("main").innerText()).toBe(before);
    // other pages go on to be served
    await page.locator('td.board-cell[data-cell="reach/effector/x/rms"] a.cell-link').click();
    await drawn(page, "Reach, effector along x");
    writeFileSync(manifest, good.replace("autumn trials", "second title"));
    await vi.waitFor(async () => expect(await page.title()).toContain("second title"), patience);
    await vi.waitFor(async () => expect(await status()).toBe(""), patience);
    writeFileSync(manifest, good);
    await vi.waitFor(async () => expect(await page.title()).toContain("autumn trials"), patience);
  });

  test("a log that changes on disk is said, and evaluated again", async () => {
    const { page, address, folder } = dashboard;
    await visit(page, `${address}/#/`);
    const log = join(folder, "flight-16.bag");
    const whole = join(folder, "flight-16.kept");
    copyFileSync(log, whole);
    const shown: string[] = [];
    rmSync(log);
    copyFileSync(whole, log);
    truncateSync(log, 20_000);
    await vi.waitFor(
      async () => {
        shown.push(await status());
        expect(await use("flight-16")).toContain("unusable");
      },
      { timeout: 30_000, interval: 20 },
    );
    expect(shown.join("\n")).toContain("flight-16.bag changed on disk");
    expect(shown.join("\n")).toContain("the last good evaluation is shown");
    expect(await page.locator('tr[data-run="flight-16"] td.checks').innerText()).toMatch(/^\d unusable/);
    // of such a run there is nothing to draw, and the page says why
    await page.locator('tr[data-run="flight-16"] a[href*="/run/flight-16/"]').click();
    await drawn(page, "Run flight-16");
    expect(await page.locator("main").innerText()).toContain("What to do:");
    await page.goBack();
    await drawn(page, "Answer");
    copyFileSync(whole, log);
    await vi.waitFor(async () => expect(await use("flight-16")).toBe("used"), patience);
    await vi.waitFor(async () => expect(await status()).toBe(""), patience);
  });

  test("nothing went wrong meanwhile: no console error, no refusal, no request off the machine", () => {
    expect(dashboard.faults).toEqual([]);
  });

  test("a service that is gone is said on every page, and found again when it is back", async () => {
    const { page, address } = dashboard;
    await visit(page, `${address}/#/`);
    expect(await dashboard.stopProgram()).toBe(0);
    await vi.waitFor(async () => expect(await status()).toContain("The service does not answer"), patience);
    expect(await status()).toContain("Is it still running in its terminal?");
    // what stands, stays; what must be fetched says why it cannot be
    expect(await page.locator("td.board-cell").count()).toBeGreaterThan(0);
    await page.getByRole("link", { name: "flight-01", exact: true }).click();
    const alert = page.getByRole("alert").filter({ hasText: "the service does not answer" });
    await alert.waitFor();
    expect(await alert.innerText()).toContain("counterpoise serve");
    await dashboard.startAgain();
    await vi.waitFor(async () => expect(await status()).not.toContain("does not answer"), patience);
    await vi.waitFor(async () => expect(await page.locator("main h1").innerText()).toBe("Run flight-01"), {
      ...patience,
      timeout: 90_000,
    });
  });
});
