import { spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { buildMcap } from "../readers/mcap/buildMcap.ts";

const root = resolve(import.meta.dirname, "../..");
/** An empty folder on a machine without network: the packed tarball is unpacked into its node_modules, and nothing else. */
let folder: string;

function run(program: string, args: readonly string[], cwd: string, env: NodeJS.ProcessEnv = process.env): string {
  const { status, stdout, stderr } = spawnSync(program, args, { encoding: "utf8", cwd, env });
  if (status !== 0) throw new Error(`${program} ${args.join(" ")} ended with ${status}:\n${stdout}${stderr}`);
  return stdout;
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-library-"));
  // a package of its own, so that what the repository's dist/ holds at the moment does not matter
  const source = join(folder, "source");
  mkdirSync(source);
  for (const name of ["package.json", "README.md", "LICENSE"]) copyFileSync(join(root, name), join(source, name));
  run(process.execPath, [join(root, "tools/build.mjs"), join(source, "dist")], root);
  run(process.execPath, [join(root, "tools/libraryTypes.mjs"), join(source, "dist/types")], root);
  const [{ filename }] = JSON.parse(run("npm", ["pack", "--json", "--ignore-scripts"], source)) as [
    { filename: string },
  ];
  const place = join(folder, "node_modules/counterpoise");
  mkdirSync(place, { recursive: true });
  run("tar", ["-xzf", join(source, filename), "-C", place, "--strip-components=1"], folder);
  rmSync(source, { recursive: true });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Runs a module in the folder and gives what it prints, as JSON. */
function use<T>(text: string): T {
  writeFileSync(join(folder, "use.mjs"), text);
  return JSON.parse(run(process.execPath, ["use.mjs"], folder)) as T;
}

test("evaluates, plans and counts no look where none is asked for", () => {
  const sample = join(root, "sample-data");
  const lines = readFileSync(join(sample, "campaign.yaml"), "utf8")
    .replace(/^bench:\n(?: .*\n)+/m, "")
    .split("\n");
  const runs = lines
    .filter((line) => /flight-0[16]\.bag/.test(line))
    .map((line) => line.replace("flight-", `${sample}/flight-`));
  const head = lines.filter((line) => !line.includes("log: flight-") && !line.startsWith("static_captures"));
  writeFileSync(join(folder, "campaign.yaml"), `${[...head.join("\n").trimEnd().split("\n"), ...runs].join("\n")}\n`);
  const found = use<{ used: string[]; cells: number; toFly: number; looks: boolean; code: string }>(`
    import { existsSync } from "node:fs";
    import { evaluateCampaign, evaluationSchema, ManifestError, planFlights, planSchema } from "counterpoise";
    const evaluation = evaluationSchema.parse(await evaluateCampaign("campaign.yaml", { look: false }));
    const { plan, day } = await planFlights("campaign.yaml");
    planSchema.parse(plan);
    const code = await evaluateCampaign("none.yaml").catch((fault) => fault instanceof ManifestError ? fault.code : "other");
    console.log(JSON.stringify({ used: evaluation.runs.filter((run) => run.used).map((run) => run.id),
      cells: evaluation.cells.length, toFly: day.cards.length, looks: existsSync("looks.jsonl"), code }));
  `);
  expect(found.used).toEqual(["flight-01", "flight-06"]);
  expect(found.cells).toBeGreaterThan(0);
  expect(found.toFly).toBeGreaterThan(0);
  expect(found.looks).toBe(false);
  expect(found.code).not.toBe("other");
});

test("inspects packed logs: the codecs come with it", async () => {
  copyFileSync(join(root, "sample-data/static-before.bag"), join(folder, "lz4.bag"));
  const messages = Array.from({ length: 50 }, (_, i) => ({
    topic: "/notes",
    type: "std_msgs/msg/String",
    definition: "string data",
    logTime: BigInt(i) * 10_000_000n,
    data: Buffer.concat([Buffer.from([0, 1, 0, 0, 5, 0, 0, 0]), Buffer.from("tank\0")]),
  }));
  writeFileSync(join(folder, "zstd.mcap"), await buildMcap(messages, { compression: "zstd" }));
  const found = use<{ topics: { messages: number }[][]; bzip2: string }>(`
    import { createRequire } from "node:module";
    import { inspectLog } from "counterpoise";
    const logs = [await inspectLog("lz4.bag"), await inspectLog("zstd.mcap")];
    // eight bytes of bzip2 are damaged, and only a decoder that runs can say so
    const bzip2 = await createRequire(import.meta.url)("./node_modules/counterpoise/dist/parts/codecs/bz2.cjs").init();
    let said = "";
    try { bzip2.decompress(new Uint8Array(8), 8); } catch (fault) { said = fault.message; }
    console.log(JSON.stringify({ topics: logs.map((log) => log.topics), bzip2: said }));
  `);
  expect(found.topics[0]!.reduce((sum, topic) => sum + topic.messages, 0)).toBeGreaterThan(100);
  expect(found.topics[1]!.map((topic) => topic.messages)).toEqual([50]);
  expect(found.bzip2).toMatch(/^BZ2 decompression failed/);
});

test("its types are complete: a program is checked against them without the sources", () => {
  // its one dependency that the types name
  symlinkSync(join(root, "node_modules/zod"), join(folder, "node_modules/zod"));
  writeFileSync(
    join(folder, "typed.ts"),
    `import { evaluateCampaign, inspectLog } from "counterpoise";
export const p: Promise<number | null> = evaluateCampaign("a").then((evaluation) => evaluation.cells[0]!.p);
// @ts-expect-error topics are no number: without types behind it this line would pass, and be reported
export const n: number = (await inspectLog("a")).topics;
`,
  );
  const options = "--noEmit --strict --target es2022 --module nodenext --types".split(" ");
  expect(run(join(root, "node_modules/.bin/tsc"), [...options, "", "typed.ts"], folder)).toBe("");
});

test.each([
  ["18.19.0", false],
  ["20.18.9", false],
  ["20.19.0", true],
  ["21.7.3", false],
  ["22.11.0", false],
  ["22.12.0", true],
  ["24.0.0", true],
])("under Node %s the program in it runs, or says in one sentence which it needs: %s", (node, runs) => {
  const program = join(folder, "node_modules/counterpoise/dist/counterpoise.mjs");
  const other = `data:text/javascript,Object.defineProperty(process,"versions",{value:{node:"${node}"}})`;
  const { status, stderr } = spawnSync(process.execPath, ["--import", other, program, "--version"], {
    encoding: "utf8",
  });
  const { engines } = JSON.parse(readFileSync(join(root, "package.json"), "utf8")) as { engines: { node: string } };
  expect(engines.node).toBe("^20.19 || >=22.12");
  const needs = "counterpoise needs Node 20.19 or a later 20, or 22.12 or newer";
  expect(stderr).toBe(runs ? "" : `${needs}, and this is Node ${node}: see https://nodejs.org\n`);
  expect(status).toBe(runs ? 0 : 2);
});
