import { spawn, spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, symlinkSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import packageFile from "../../package.json" with { type: "json" };

const root = resolve(import.meta.dirname, "../..");
let folder: string;
/** an empty folder but for what was in the archive */
let unpacked: string;

function run(program: string, args: readonly string[], cwd = folder): string {
  const { status, stdout, stderr } = spawnSync(program, args, { encoding: "utf8", cwd });
  if (status !== 0) throw new Error(`${program} ${args.join(" ")} ended with ${status}:\n${stdout}${stderr}`);
  return stdout;
}
const node = (...args: string[]): string => run(process.execPath, args);

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-archive-"));
  const built = join(folder, "built");
  const vite = join(root, "node_modules/vite/bin/vite.js");
  run(
    process.execPath,
    [vite, "build", "-c", "vite.client.config.ts", "-l", "warn", "--outDir", `${built}/client`],
    root,
  );
  node(join(root, "tools/buildManual.mjs"), join(built, "client/manual"));
  node(join(root, "tools/build.mjs"), built);
  node(join(root, "tools/sbom.mjs"), built);
  const archive = node(join(root, "tools/pack.mjs"), built, folder).trim();
  expect(archive).toBe(join(folder, `counterpoise-program-${packageFile.version}.tgz`));
  unpacked = join(folder, "unpacked");
  mkdirSync(unpacked);
  run("tar", ["-xzf", archive], unpacked);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const builtOf = (text: string): Record<string, string> =>
  /^counterpoise (?<version>\S+) \((commit (?<commit>[0-9a-f]{12}(\+changes)?)|built outside git), parts (?<parts>[0-9a-f]{12})\)\n$/.exec(
    text,
  )!.groups!;

test("it runs where nothing else is, and reads a packed log", () => {
  expect(readdirSync(unpacked).sort()).toEqual([
    "LICENSE",
    "client",
    "counterpoise.mjs",
    "licences.txt",
    "parts",
    "sbom.json",
  ]);
  const log = join(root, "sample-data/static-before.bag");
  const found = run(process.execPath, ["counterpoise.mjs", "inspect", log, "--json"], unpacked);
  expect(JSON.parse(found).topics.length).toBeGreaterThan(1);
});

test("it serves the dashboard and the manual", async () => {
  const manifest = join(root, "sample-data/campaign.yaml");
  const program = spawn(process.execPath, ["counterpoise.mjs", "serve", manifest, "--port", "0", "--blind"], {
    cwd: unpacked,
  });
  try {
    const address = await new Promise<string>((found, failed) => {
      let said = "";
      program.stdout.on("data", (text) => {
        said += text;
        const [, at] = /Dashboard: (http\S+\/)/.exec(said) ?? [];
        if (at !== undefined) found(at);
      });
      program.on("exit", () => failed(new Error(`ended, and said ${said}`)));
    });
    expect(await (await fetch(address)).text()).toMatch(/<script type="module"[^>]* src="\.\/assets\//);
    expect(await (await fetch(`${address}manual/`)).text()).toContain("<h1");
  } finally {
    program.kill("SIGKILL");
  }
});

test("builds of the same sources say so, in git or out of it, and another one differs", () => {
  const sources = join(folder, "sources");
  mkdirSync(sources);
  for (const name of ["src", "server", "tools", "package.json", "package-lock.json"])
    cpSync(join(root, name), join(sources, name), { recursive: true });
  symlinkSync(join(root, "node_modules"), join(sources, "node_modules"));
  const build = (from: string, to: string) => {
    node(join(from, "tools/build.mjs"), join(folder, to));
    return builtOf(node(join(folder, to, "counterpoise.mjs"), "--version"));
  };
  const first = build(root, "first");
  const outside = build(sources, "outside");
  expect(outside).toEqual({ version: packageFile.version, commit: undefined, parts: first.parts });
  // the dashboard is part of what was built
  cpSync(join(folder, "built/client"), join(folder, "whole/client"), { recursive: true });
  const whole = build(sources, "whole");
  expect(whole.parts).not.toBe(first.parts);
  expect(builtOf(node(join(unpacked, "counterpoise.mjs"), "--version")).parts).toBe(whole.parts);
});
