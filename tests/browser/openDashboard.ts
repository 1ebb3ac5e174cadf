import { join } from "node:path";
import { type BrowserContext, type BrowserContextOptions, chromium, type Page } from "playwright-core";
import { expect, inject, vi } from "vitest";
import type { CampaignAnswer } from "../../src/contract/api/campaignAnswer.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { chromiumPath } from "../support/available.ts";
import { campaignFolder } from "./campaignFolder.ts";
import { startProgram } from "./startProgram.ts";

export interface Dashboard {
  /** where it is served, without a slash at its end */
  readonly address: string;
  /** one page; a file's tests use it one after the other */
  readonly page: Page;
  /** another reader, with nothing remembered; its faults count too */
  readonly reader: (options?: BrowserContextOptions) => Promise<Page>;
  /** console errors, page errors, requests off the machine, answers that are no success: empty while all is well */
  readonly faults: string[];
  readonly ask: <T>(path: string) => Promise<T>;
  readonly evaluation: () => Promise<CampaignEvaluation>;
  readonly close: () => Promise<void>;
}

/** A dashboard whose campaign and program a suite may do with as it likes. */
export interface OwnDashboard extends Dashboard {
  /** the campaign's own folder, thrown away at the end */
  readonly folder: string;
  /** stops the program alone; the browser goes on. @returns its exit code */
  readonly stopProgram: () => Promise<number | null>;
  /** starts it again on the same port */
  readonly startAgain: () => Promise<void>;
}

export const wide = { width: 1280, height: 800 } as const;

/** A Chromium that stands on the first screen of the sample campaign, whose service is that of all suites: nothing in it may be changed. */
export async function openDashboard(): Promise<Dashboard> {
  const answer = await fetch(inject("sampleService"));
  const said = await answer.text();
  if (!answer.ok) throw new Error(said);
  return open(said);
}

/** The built program on a copy of the sample campaign, evaluated, and a Chromium that stands on its first screen. */
export async function openOwnDashboard(): Promise<OwnDashboard> {
  const { folder, remove } = campaignFolder({ bench: false });
  const manifest = join(folder, "campaign.yaml");
  let program = await startProgram(manifest);
  const { address } = program;
  const stop = async (): Promise<void> => {
    await program.stop();
    remove();
  };
  try {
    const dashboard = await open(address);
    return {
      ...dashboard,
      folder,
      stopProgram: () => program.stop(),
      startAgain: async () => {
        program = await startProgram(manifest, Number(new URL(address).port));
      },
      close: async () => {
        await dashboard.close();
        await stop();
      },
    };
  } catch (error) {
    await stop();
    throw error;
  }
}

async function open(address: string): Promise<Dashboard> {
  const browser = await chromium.launch({ executablePath: chromiumPath() });
  const faults: string[] = [];
  const ask = async <T>(path: string): Promise<T> => (await (await fetch(`${address}${path}`)).json()) as T;
  const reader = async (options: BrowserContextOptions = {}): Promise<Page> => {
    const context = await browser.newContext({ viewport: wide, locale: "en-GB", ...options });
    watch(context, address, faults);
    const page = await context.newPage();
    // patient: a busy machine takes half a minute to draw what takes a second else
    page.setDefaultTimeout(60_000);
    return page;
  };
  const page = await reader();
  try {
    await visit(page, `${address}/#/`);
  } catch (error) {
    await browser.close();
    throw error;
  }
  return {
    address,
    page,
    reader,
    faults,
    ask,
    evaluation: () => ask<CampaignEvaluation>("/api/export/evaluation.json"),
    close: () => browser.close(),
  };
}

/** Everything a well-behaved page never does. A policy's refusal is a console error too. */
function watch(context: BrowserContext, address: string, faults: string[]): void {
  context.on("console", (message) => {
    if (message.type() === "error" || message.type() === "warning") faults.push(`console: ${message.text()}`);
  });
  context.on("weberror", (error) => faults.push(`page: ${error.error().message}`));
  context.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(`${address}/`) && !/^(data|blob):/.test(url)) faults.push(`off the machine: ${url}`);
  });
  context.on("response", (response) => {
    if (response.status() >= 400) faults.push(`${response.status()}: ${response.url()}`);
  });
}

let visits = 0;

/** Loads an address again, as a link from elsewhere does, and waits until its page is drawn. */
export async function visit(page: Page, address: string): Promise<void> {
  const url = new URL(address);
  // an address that differs behind # alone would not be loaded, and with a blank page between the browser makes a process for each visit
  url.searchParams.set("visit", String(++visits));
  await page.goto(url.href);
  await drawn(page);
}

/** Waits until a page stands drawn whole. @param title  beginning of the window's title */
export async function drawn(page: Page, title = ""): Promise<void> {
  // asked from here: the page's policy forbids it to evaluate text, and so to wait by itself
  await vi.waitFor(async () => expect(await page.title()).toMatch(new RegExp(`^${title}`)), { timeout: 60_000 });
  await page.locator("main > .page:only-child:not(.behind):has(h1):not(:has(.loading))").waitFor();
  await widthsSettled(page);
}

/** Waits for the frames in which figures are drawn again, where their place is another than was likely. */
export async function widthsSettled(page: Page): Promise<void> {
  await page.locator(":root").evaluate(async (root) => {
    const { defaultView: window } = root.ownerDocument;
    for (let frame = 0; frame < 3; frame++) await new Promise((done) => window.requestAnimationFrame(done));
  });
}

/** Waits until the service says what is wanted of its state. */
export async function stateOf(
  { ask }: Pick<Dashboard, "ask">,
  wanted: (state: CampaignAnswer["state"]) => boolean,
): Promise<CampaignAnswer["state"]> {
  for (;;) {
    const { state } = await ask<CampaignAnswer>("/api/campaign");
    if (wanted(state)) return state;
    await new Promise((done) => setTimeout(done, 50));
  }
}
