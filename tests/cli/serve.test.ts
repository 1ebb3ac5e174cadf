import { spawn, spawnSync } from "node:child_process";
import {
  copyFileSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { createService } from "../../server/createService.ts";
import { serve } from "../../src/cli/commands/serve.ts";
import { runCli } from "../../src/cli/runCli.ts";
import { shortManifest } from "../pipeline/shortCampaign.ts";
import { memoryWorld, runs } from "../server/support.ts";
import { capturedTerminal } from "./captured.ts";

const root = resolve(import.meta.dirname, "../..");
let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-serve-"));
  writeFileSync(join(folder, "campaign.yaml"), "title: is read from memory\n");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const input = (port: string | null, manifest = folder) => ({
  flags: new Set<string>(),
  values: new Map(port === null ? [] : [["port", port]]),
  operands: [manifest],
});

/** Serves a campaign in memory until it is told to stop. */
function serving(port: string, world = memoryWorld()) {
  const terminal = capturedTerminal();
  let stop = (): void => undefined;
  let cutOff = false;
  const ended = serve(input(port), terminal, {
    createService: () => createService("campaign.yaml", world.effects),
    toldToStop: () =>
      new Promise((done) => {
        stop = done;
      }),
    cutOff: () => {
      cutOff = true;
    },
  });
  const shown = async (pattern: RegExp): Promise<RegExpExecArray> => {
    for (;;) {
      const found = pattern.exec(terminal.stdout() + terminal.stderr());
      if (found !== null) return found;
      await new Promise((done) => setTimeout(done, 10));
    }
  };
  return { terminal, ended, shown, stop: () => stop(), wasCutOff: () => cutOff };
}

describe("counterpoise serve", () => {
  test("prints the address, says when it has evaluated, answers, and returns 0 when told to stop", async () => {
    const { ended, shown, stop, terminal, wasCutOff } = serving("0");
    const [, address] = await shown(/^Dashboard: (http:\/\/127\.0\.0\.1:\d+)\/ /m);
    await shown(/^Evaluated: 6 of 6 runs used\.$/m);
    const { state } = (await (await fetch(`${address}/api/campaign`)).json()) as { state: { status: string } };
    expect(state.status).toBe("ready");
    stop();
    expect(await ended).toBe(0);
    expect(terminal.stderr()).toBe("");
    expect(wasCutOff()).toBe(false);
    await expect(fetch(`${address}/api/campaign`)).rejects.toThrow();
  });

  test("a draft that asks for something is no fault: how much it asks for is said, once, and where to answer", async () => {
    const draft = shortManifest(runs).replace(/smallest_difference: .*/, "smallest_difference: <LENGTH>");
    expect(draft).toContain("<LENGTH>");
    const { ended, shown, stop, terminal } = serving("0", memoryWorld(draft));
    await shown(/^The manifest still asks for one thing: answer on the page Set-up, or in the file\.$/m);
    stop();
    expect(await ended).toBe(0);
    expect(terminal.stderr()).toBe("");
  });

  test("a manifest that is wrong without asking for anything is a fault", async () => {
    const wrong = shortManifest(runs).replace(/smallest_difference: .*/, "smallest_difference: 3 kg");
    const { ended, shown, stop } = serving("0", memoryWorld(wrong));
    await shown(/^counterpoise: the evaluation failed: .*smallest_difference/m);
    stop();
    expect(await ended).toBe(0);
  });

  test("a port that is taken is said, and the next free one is used", async () => {
    const blocker = createServer();
    await new Promise<void>((done) => blocker.listen(0, "127.0.0.1", () => done()));
    const { port } = blocker.address() as { port: number };
    const { ended, shown, stop } = serving(String(port));
    const [, said] = await shown(/^Port \d+ is taken; the next free one is (\d+)\.$/m);
    await shown(new RegExp(`^Dashboard: http://127\\.0\\.0\\.1:${said}/`, "m"));
    stop();
    expect(await ended).toBe(0);
    blocker.close();
  });

  test.each(["x", "-1", "65536", "80.5", "0x50", ""])("--port=%s is refused with code 2", async (port) => {
    const terminal = capturedTerminal();
    expect(await runCli(["serve", folder, `--port=${port}`], terminal)).toBe(2);
    expect(terminal.stderr()).toContain("--port");
    expect(terminal.stdout()).toBe("");
  });

  test("a manifest that is not there is refused with code 2", async () => {
    const terminal = capturedTerminal();
    expect(await runCli(["serve", join(folder, "no-such.yaml")], terminal)).toBe(2);
    expect(terminal.stderr()).toContain("expected a campaign manifest");
  });
});

describe("the built program", () => {
  const built = join(root, "node_modules/.cache", `counterpoise-serve-${process.pid}`);
  const program = join(built, "counterpoise.mjs");
  let campaign: string;
  beforeAll(() => {
    const { status, stderr } = spawnSync(process.execPath, [join(root, "tools/build.mjs"), built], {
      encoding: "utf8",
    });
    if (status !== 0) throw new Error(`the build failed:\n${stderr}`);
    campaign = mkdtempSync(join(tmpdir(), "counterpoise-campaign-"));
    const sample = join(root, "sample-data");
    for (const name of readdirSync(sample).filter((each) => each.endsWith(".bag") || each === "bench"))
      symlinkSync(join(sample, name), join(campaign, name));
    copyFileSync(join(sample, "campaign.yaml"), join(campaign, "campaign.yaml"));
  });
  afterAll(() => {
    for (const made of [built, campaign]) rmSync(made, { recursive: true, force: true });
  });

  test.each(["SIGTERM", "SIGINT"] as const)("%s ends it with code 0, open streams and all", async (signal) => {
    const child = spawn(process.execPath, [program, "serve", campaign, "--port", "0"]);
    let text = "";
    child.stdout.on("data", (part: Buffer) => {
      text += part.toString();
    });
    child.stderr.on("data", (part: Buffer) => {
      text += part.toString();
    });
    const ended = new Promise<number | null>((done) => child.on("close", done));
    const shown = async (pattern: RegExp): Promise<RegExpExecArray> => {
      for (;;) {
        const found = pattern.exec(text);
        if (found !== null) return found;
        if (child.exitCode !== null) throw new Error(`it ended:\n${text}`);
        await new Promise((done) => setTimeout(done, 20));
      }
    };
    const [, address] = await shown(/Dashboard: (\S+)\/ /);
    const stream = await fetch(`${address}/api/progress`);
    // the second time it is stopped while it evaluates
    if (signal === "SIGTERM") await shown(/Evaluated: \d+ of 20 runs used/);
    child.kill(signal);
    expect(await ended).toBe(0);
    expect(await stream.text()).toContain("event: state");
    expect(text).toMatch(/Stopping\.\n$/);
    // nothing is left half written
    expect(readdirSync(campaign).filter((name) => name.includes(".part"))).toEqual([]);
  });

  test("help and evaluate load neither the server nor its libraries", () => {
    /** The files a part imports before it runs. */
    const startsWith = (path: string, seen = new Set<string>()): Set<string> => {
      if (seen.has(path)) return seen;
      seen.add(path);
      for (const [, name] of readFileSync(path, "utf8").matchAll(/\b(?:from|import)\s*["'](\.[^"']+)["']/g))
        startsWith(join(path, "..", name!), seen);
      return seen;
    };
    const parts = readdirSync(join(built, "parts"));
    const part = (name: string): string => join(built, "parts", parts.find((each) => each.startsWith(`${name}-`))!);
    const mentions = (files: Set<string>): string[] =>
      [...files].filter((path) => /x-powered-by|contentSecurityPolicy/.test(readFileSync(path, "utf8")));
    expect(mentions(startsWith(part("serve")))).not.toEqual([]);
    expect(mentions(startsWith(program))).toEqual([]);
    expect(mentions(startsWith(part("evaluate")))).toEqual([]);
    expect(statSync(program).size).toBeLessThan(40_000);
  });
});
