import { spawn } from "node:child_process";
import { once } from "node:events";
import { cp, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

/**
 * Takes the pictures of README from the sample campaign, as the built program serves it, with the Chromium of
 * COUNTERPOISE_CHROMIUM (default /usr/bin/chromium). `npm run pictures` builds before.
 */
const root = join(import.meta.dirname, "..");
const pictures = join(root, "client/manual/pictures");
const folder = await mkdtemp(join(tmpdir(), "counterpoise-pictures-"));
await cp(join(root, "sample-data"), folder, { recursive: true });
const service = spawn(process.execPath, [join(root, "dist/counterpoise.mjs"), "serve", folder, "--port", "0"], {
  stdio: ["ignore", "pipe", "inherit"],
});
let printed = "";
let address;
service.stdout.setEncoding("utf8").on("data", (text) => {
  printed += text;
  address ??= /http:\/\/[\d.]+:\d+/.exec(printed)?.[0];
});
while (address === undefined) await Promise.race([once(service.stdout, "data"), once(service, "exit")]);
const browser = await chromium.launch({ executablePath: process.env.COUNTERPOISE_CHROMIUM ?? "/usr/bin/chromium" });
try {
  const page = await browser.newPage({ viewport: { width: 1120, height: 700 }, locale: "en-GB" });
  for (const [name, place, wanted] of [
    ["answer", "#/", ".board"],
    ["run", "#/run/flight-03/effector", "figure svg"],
  ]) {
    await page.goto(`${address}/${place}`);
    await page.locator(wanted).first().waitFor({ timeout: 60_000 });
    await page.waitForLoadState("networkidle").catch(() => undefined);
    await page.waitForTimeout(500);
    await page.screenshot({ path: join(pictures, `${name}.png`) });
  }
} finally {
  await browser.close();
  service.kill("SIGINT");
  await rm(folder, { recursive: true, force: true });
}
