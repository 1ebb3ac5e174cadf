import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { runCli } from "../../src/cli/runCli.ts";
import { chromiumPath, describeWith } from "../support/available.ts";
import { flightsOnDisk } from "../support/flightsOnDisk.ts";
import { capturedTerminal } from "./captured.ts";

let folder: string;
let out: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-report-"));
  flightsOnDisk(folder, 6);
  out = join(folder, "report");
  const manifest = join(folder, "campaign.yaml");
  writeFileSync(
    manifest,
    `rig: { firmware: "1.8", capture: "calibrated 2025-10-13" }\n${readFileSync(manifest, "utf8")}`,
  );
  expect(await runCli(["report", folder, "--out", out], capturedTerminal())).toBe(0);
}, 120_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("counterpoise report", () => {
  test("writes page, evaluation, tables and figures, counts one look, and gives the same bytes again", async () => {
    const bytes = (): string[] =>
      readdirSync(out, { recursive: true, encoding: "utf8", withFileTypes: true })
        .filter((entry) => entry.isFile())
        .map(({ parentPath, name }) => `${name} ${readFileSync(join(parentPath, name), "utf8")}`)
        .sort();
    const before = bytes();
    expect(before.length).toBeGreaterThan(8);
    expect(readFileSync(join(out, "index.html"), "utf8")).toContain("<dt>firmware</dt><dd>1.8</dd>");
    expect(await runCli(["report", folder, "--out", out], capturedTerminal())).toBe(0);
    expect(bytes()).toEqual(before);
    expect(readFileSync(join(folder, "looks.jsonl"), "utf8").trim().split("\n")).toHaveLength(1);
  });

  test("--check says whether it still holds, and counts no look", async () => {
    const same = capturedTerminal();
    expect(await runCli(["report", folder, "--check", out], same)).toBe(0);
    expect(same.stdout()).toMatch(/^The same:/);
    const manifest = join(folder, "campaign.yaml");
    const text = readFileSync(manifest, "utf8");
    writeFileSync(manifest, text.replace('firmware: "1.8"', 'firmware: "1.9"'));
    const other = capturedTerminal();
    expect(await runCli(["report", folder, "--check", out], other)).toBe(1);
    expect(other.stdout()).toMatch(/^index.html: differs$/m);
    writeFileSync(manifest, text);
    expect(readFileSync(join(folder, "looks.jsonl"), "utf8").trim().split("\n")).toHaveLength(1);
  });

  test.each([[[]], [["--out", "a", "--check", "b"]], [["--check", "no-such"]]])(
    "with %j it is refused before a file is written",
    async (options) => {
      const terminal = capturedTerminal();
      expect(await runCli(["report", folder, ...options], terminal)).toBe(2);
      expect(terminal.stderr()).toContain("expected");
    },
  );

  test("over a file, and beside what it did not write, it is refused", async () => {
    const terminal = capturedTerminal();
    expect(await runCli(["report", folder, "--out", folder], terminal)).toBe(2);
    expect(terminal.stderr()).toContain("holds other files");
  });
});

describeWith(["chromium"], "the page of a report in a browser", () => {
  test("has nothing serious for axe, is no wider than the window, and its scripts are none", async () => {
    const browser = await chromium.launch({ executablePath: chromiumPath() });
    try {
      const page = await browser.newPage();
      const faults: string[] = [];
      page.on("console", (message) => faults.push(message.text()));
      page.on("request", (request) => {
        if (!request.url().startsWith("file:")) faults.push(request.url());
      });
      const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
      for (const width of [380, 1440]) {
        await page.setViewportSize({ width, height: 900 });
        await page.goto(pathToFileURL(join(out, "index.html")).href);
        const root = page.locator(":root");
        expect(await root.evaluate((html) => html.scrollWidth - html.clientWidth)).toBeLessThanOrEqual(0);
        await page.evaluate(axe);
        const { violations } = (await page.evaluate("axe.run(document)")) as {
          violations: { id: string; impact: string; nodes: { target: string[] }[] }[];
        };
        expect(violations.map(({ id, nodes }) => `${id} ${nodes[0]!.target}`)).toEqual([]);
      }
      expect(faults).toEqual([]);
    } finally {
      await browser.close();
    }
  });
});
