import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { expect, test } from "vitest";
import packageFile from "../../package.json" with { type: "json" };
import { commands } from "../../src/cli/commandList.ts";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";
import { checkCodes } from "../../src/foundation/checks.ts";

const root = resolve(import.meta.dirname, "../..");
const page = (name: string): string => readFileSync(join(root, "client/manual", `${name}.md`), "utf8");
const readme = readFileSync(join(root, "README.md"), "utf8");
const manual = ["logs", "manifest"].map(page).join("\n");
const commandPage = page("commands");
const developers = readFileSync(join(root, "DEVELOPERS.md"), "utf8");

test("every check has its line in the manual, and no line is left over", () => {
  const lines = [...page("checks").matchAll(/^\| `([a-z-]+)` \|[^|]+\|[^|]+\|$/gm)].map(([, code]) => code);
  expect([...lines].sort()).toEqual([...checkCodes].sort());
});

const blocks = [...manual.matchAll(/```yaml\n([\s\S]*?)```/g)].map(([, block]) => block!);
const campaignOf = (manifest: string) =>
  readCampaign(manifest, { file: "campaign.yaml", readText: () => Promise.reject(new Error("no table")) });

test("the manual's signals of a run with several logs are signals, on clocks of their own", async () => {
  const several = blocks.find((block) => block.startsWith("signals:"))!;
  const rest = [
    "title: x\nbaseline: bare\ncandidate: other\nconfigurations: { bare: { label: A }, other: { label: B } }",
    "clocks: { reference: onboard, capture: { offset: 1 s }, mocap: { offset: 0 s }, points: { offset: 0 s } }",
    "trajectories: { orbit: { shape: logged } }",
  ];
  const { signals, runs } = await campaignOf([...rest, several].join("\n"));
  expect(signals.vehicle_pose!.columns).toMatchObject({ t: "time [s]", qw: "q0" });
  expect(signals.effector_pose!.markers).toEqual({ T1: [0.05, 0, 0], T2: [0, 0.05, 0], T3: [0, 0, 0.06] });
  expect(signals.vehicle_setpoint!.axes).toEqual({ world: "ned", body: "frd" });
  expect(runs[0]!.logs).toEqual({ capture: ["01.csv"], points: ["01.c3d"], onboard: ["01.ulg"] });
});

test("the manual's manifest is a manifest", async () => {
  const campaign = await campaignOf(blocks.find((block) => block.startsWith("title:"))!);
  expect(campaign.runs.map(({ exclude }) => exclude)).toEqual([null, "arm jammed in cycle 4"]);
  expect(Object.values(campaign.trajectories).map(({ shape }) => shape)).toEqual(["circle", "line", "hold", "logged"]);
});

test("the manual names every command and option", () => {
  for (const { name, options } of commands) {
    const line = commandPage.split("\n").find((each) => each.startsWith(`counterpoise ${name} `) && each.includes("["));
    for (const option of Object.keys(options)) expect(line, name).toContain(`--${option}`);
  }
});

test("README stays short, names every page of the manual, and no link leads nowhere", () => {
  expect(readme.split("\n").length).toBeLessThanOrEqual(150);
  const pages = readdirSync(join(root, "client/manual")).filter((name) => name.endsWith(".md"));
  for (const name of pages.filter((each) => each !== "index.md")) {
    expect(readme, name).toContain(`(client/manual/${name})`);
    expect(page("index"), name).toContain(`(${name})`);
  }
  for (const [folder, text] of [["", readme], ...pages.map((name) => ["client/manual", page(name.slice(0, -3))])]) {
    for (const [, to] of text!.matchAll(/\]\(([^)#:]+)(?:#[^)]*)?\)/g)) {
      expect(existsSync(join(root, folder!, to!)), to).toBe(true);
    }
  }
});

test("every npm command in the documents exists", () => {
  const scripts = Object.keys(packageFile.scripts);
  for (const text of [readme, developers]) {
    const named = [...text.matchAll(/npm run ([a-z:-]+)/g)].map(([, name]) => name!);
    expect(scripts).toEqual(expect.arrayContaining(named));
  }
  expect(scripts).toEqual(expect.arrayContaining(["start", "test", "build"]));
});

test("every file and folder that DEVELOPERS.md names exists, but for those that come later", () => {
  const later = ["server", "client", "src/comparison", "dist", "tests/bench"];
  const named = [...developers.matchAll(/`((?:src|tests|tools|server|client|dist|sample-data)[\w/.-]*)`/g)].map(
    ([, path]) => path!,
  );
  expect(named.length).toBeGreaterThan(15);
  for (const path of named) {
    const bare = path.replace(/\/$/, "");
    if (!later.includes(bare)) expect(existsSync(join(root, bare)), path).toBe(true);
  }
});

test("the newest changes are those of this version", () => {
  const [, newest] = /^### (.*)$/m.exec(page("changes"))!;
  expect(newest).toMatch(new RegExp(`^${packageFile.version.replaceAll(".", "\\.")}(,|$)`));
});
