import { spawnSync } from "node:child_process";
import { readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { type Browser, chromium, type Locator, type Page } from "playwright-core";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import { parse } from "yaml";
import type { CampaignAnswer } from "../../src/contract/api/campaignAnswer.ts";
import { chromiumPath, describeWith, missing } from "../support/available.ts";
import { campaignFolder } from "./campaignFolder.ts";
import { drawn, visit } from "./openDashboard.ts";
import { build, type RunningProgram, startProgram } from "./startProgram.ts";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const patience = { timeout: 120_000, interval: 250 };
/** the sample's own set-up, as its README says it; of the runs those with counterweights */
const weighted = [2, 3, 5, 8, 9, 11, 14, 15, 17, 20].map((k) => `flight-${String(k).padStart(2, "0")}`);

describeWith(["chromium"], "from a folder of logs to the opened answer, without an editor", () => {
  let folder: { readonly folder: string; readonly remove: () => void };
  let manifest: string;
  let program: RunningProgram | null = null;
  let browser: Browser | null = null;
  let page: Page;
  const faults: string[] = [];

  beforeAll(async () => {
    folder = campaignFolder({ bench: false });
    manifest = join(folder.folder, "draft.yaml");
    rmSync(join(folder.folder, "campaign.yaml"));
    const inspected = spawnSync(
      process.execPath,
      [join(build, "counterpoise.mjs"), "inspect", folder.folder, "--draft", manifest],
      { encoding: "utf8" },
    );
    expect(inspected.status, inspected.stderr).toBe(0);
    program = await startProgram(manifest);
    browser = await chromium.launch({ executablePath: chromiumPath() });
    const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, locale: "en-GB" });
    page = await context.newPage();
    page.setDefaultTimeout(90_000);
    page.on("console", (message) => {
      if (["error", "warning"].includes(message.type())) faults.push(message.text());
    });
    await page.goto(`${program.address}/`);
  });
  afterAll(async () => {
    await browser?.close();
    await program?.stop();
    folder?.remove();
  });

  /** By the arrows that the field has of its own, as with a mouse; the short suite types what takes more than fifty clicks. */
  const press = async (field: Locator, value: number, step: number): Promise<void> => {
    if (missing("slow") !== null && Math.abs(value) > 50 * step) return field.fill(String(value));
    await field.hover();
    const box = (await field.boundingBox())!;
    const at = { x: box.x + box.width - 9, y: box.y + box.height * (value > 0 ? 0.3 : 0.7) };
    for (let k = 0; k < Math.round(Math.abs(value) / step); k++) await page.mouse.click(at.x, at.y);
    expect(Number(await field.inputValue())).toBe(value);
  };
  const question = (name: string): Locator => page.locator(".question").filter({ hasText: name });

  test("the draft is served as the page Set-up with its questions, each with what the draft says beside it", async () => {
    await vi.waitFor(
      async () => expect(await page.locator("h2").first().innerText()).toMatch(/leaves \d+ places open/),
      patience,
    );
    expect(await page.locator("h1").innerText()).toBe("Set-up");
    expect(await page.title()).toContain("Set-up");
    const asked = readFileSync(manifest, "utf8").match(/^(?!\s*#).*<[A-Z_]+>/gm)!;
    expect(asked.length).toBeGreaterThan(0);
    expect(await question("smallest_difference").innerText()).toContain("the smallest change that would matter");
    await expectNothingSerious("the questions");
  });

  test("an answer that the manifest cannot take is refused in words, and nothing is written", async () => {
    const before = readFileSync(manifest, "utf8");
    await question("smallest_difference").locator("input").fill("-3");
    await page.getByRole("button", { name: /^Write into/ }).click();
    const alert = page.getByRole("alert").filter({ hasText: "Nothing was written" });
    await alert.waitFor();
    expect(await alert.innerText()).toContain("smallest_difference");
    expect(readFileSync(manifest, "utf8")).toBe(before);
    await question("smallest_difference").locator("input").fill("");
  });

  test("answers are written into their places while somebody edits the file: nothing of either is lost", async () => {
    const before = readFileSync(manifest, "utf8");
    const edited = before.replace(/^title: .*$/m, 'title: "Tank-wall swab arm, from a draft"   # by hand');
    await press(question("smallest_difference").locator("input"), 1.5, 0.5);
    writeFileSync(manifest, edited);
    await page.getByRole("button", { name: /^Write into/ }).click();
    await vi.waitFor(async () => {
      const said = await page.getByRole("alert").allInnerTexts();
      const written = readFileSync(manifest, "utf8") !== edited;
      expect(written || said.some((text) => text.includes("was edited after"))).toBe(true);
    }, patience);
    // the field kept its words; a second press writes them
    if (readFileSync(manifest, "utf8") === edited) {
      expect(await question("smallest_difference").locator("input").inputValue()).toBe("1.5");
      await page.getByRole("button", { name: /^Write into/ }).click();
    }
    await vi.waitFor(() => expect(readFileSync(manifest, "utf8")).toBe(edited.replace("<LENGTH>", "1.5 mm")), patience);
  });

  test("the rest is answered by mouse, the check follows, and the first page is the rig; nothing says evaluated", async () => {
    await vi.waitFor(async () => expect(await question("smallest_difference").count()).toBe(0), patience);
    if ((await question("runs").count()) > 0)
      for (const run of weighted)
        await question("configurations.")
          .getByRole("checkbox", { name: new RegExp(`^${run}\\b`) })
          .check();
    if ((await question("added_mass").count()) > 0) await press(question("added_mass").locator("input"), 540, 10);
    const point = async (name: string, values: readonly [number, number, number]): Promise<void> => {
      for (const [k, value] of values.entries()) {
        const field = question(name).locator("input").nth(k);
        if (value === 0) {
          await press(field, 1, 1);
          await press2(field);
        } else await press(field, value, 1);
      }
    };
    const press2 = async (field: Locator): Promise<void> => {
      const box = (await field.boundingBox())!;
      await page.mouse.click(box.x + box.width - 9, box.y + box.height * 0.7);
      expect(await field.inputValue()).toBe("0");
    };
    await point("frames.tool_point", [0, 0, -45]);
    await point("frames.arm_base", [60, 0, -120]);
    const said: string[] = [];
    await page.getByRole("button", { name: /^Write into/ }).click();
    await vi.waitFor(
      async () => {
        said.push(await page.locator("main").innerText());
        expect(await page.locator(".campaign-title").count()).toBe(1);
      },
      { ...patience, interval: 100 },
    );
    await drawn(page, "Set-up");
    expect(said.join("\n")).toContain("being checked");
    expect(said.join("\n")).not.toMatch(/evaluated/);
    expect(await page.locator("svg.rig").count()).toBe(2);
    expect(await page.locator("main").innerText()).toContain("What was flown lies where it was asked to be");
    // another reader of YAML finds what was answered, and the draft's own comments stand
    const text = readFileSync(manifest, "utf8");
    expect(parse(text)).toMatchObject({
      frames: { tool_point: ["0 mm", "0 mm", "-45 mm"], arm_base: ["60 mm", "0 mm", "-120 mm"] },
    });
    expect(text).not.toMatch(/^(?!\s*#)[^#]*<[A-Z_]+>/m);
    expect(text).toContain("# by hand");
  });

  test("no blind page has a serious finding of axe or is wider than the window, at 380 and 1440 px, light and dark", async () => {
    const pages = [
      ["#/setup", "Set-up"],
      ["#/check", "Check"],
      ["#/audit", "Audit"],
      ["#/run/flight-01/effector", "Run flight-01"],
      ["#/why", "Why"],
    ] as const;
    for (const colorScheme of ["light", "dark"] as const) {
      await page.emulateMedia({ colorScheme });
      for (const width of [380, 1440]) {
        // CI takes each width and each theme once
        if (missing("slow") !== null && (width === 380) !== (colorScheme === "light")) continue;
        await page.setViewportSize({ width, height: 900 });
        // the run's page and the closed ones are as they are for everybody else
        for (const [hash, title] of colorScheme === "light" && width === 380 ? pages : pages.slice(0, 3)) {
          await visit(page, `${program!.address}/${hash}`);
          await drawn(page, title);
          const name = `${hash} ${width} ${colorScheme}`;
          await expectNothingSerious(name);
          const wider = await page.locator(":root").evaluate((html) => html.scrollWidth - html.clientWidth);
          expect(wider, name).toBeLessThanOrEqual(0);
        }
      }
    }
  }, 300_000);

  test("the answer is opened from the page Check, after a second word, and the page follows", async () => {
    await page.setViewportSize({ width: 1440, height: 900 });
    await page.goto(`${program!.address}/#/check`);
    await drawn(page, "Check");
    await page.getByRole("button", { name: "Open the answer …" }).click();
    await page.getByRole("dialog").getByRole("button", { name: "Not yet" }).click();
    const { state } = (await (await fetch(`${program!.address}/api/campaign`)).json()) as CampaignAnswer;
    expect(state.blind).toBe(true);
    await page.getByRole("button", { name: "Open the answer …" }).click();
    await page.getByRole("dialog").getByRole("button", { name: "Open the answer" }).click();
    await drawn(page, "Answer");
    expect(await page.locator("td.board-cell").count()).toBeGreaterThan(0);
    expect(await page.locator("main").innerText()).toMatch(/steadie[rs]/);
  });

  test("nothing went wrong meanwhile: no refusal but the ones asked for", () => {
    expect(faults.filter((text) => !/status of 40[09]/.test(text))).toEqual([]);
  });

  async function expectNothingSerious(name: string): Promise<void> {
    await page.evaluate(axe);
    const { violations } = (await page.evaluate(`axe.run(document, { resultTypes: ["violations"] })`)) as {
      violations: { id: string; impact: string; nodes: { target: string[] }[] }[];
    };
    const serious = violations.filter(({ impact }) => impact === "serious" || impact === "critical");
    expect(
      serious.map(({ id, nodes }) => `${id}: ${nodes.map(({ target }) => target.join(" ")).join(", ")}`),
      name,
    ).toEqual([]);
  }
});
