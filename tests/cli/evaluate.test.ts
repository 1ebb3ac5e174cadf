import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import type { Command, Terminal } from "../../src/cli/Command.ts";
import { commands } from "../../src/cli/commandList.ts";
import { evaluate } from "../../src/cli/commands/evaluate.ts";
import { runCli } from "../../src/cli/runCli.ts";
import { type CampaignEvaluation, evaluationSchema } from "../../src/contract/evaluation.ts";
import { ManifestError } from "../../src/foundation/errors.ts";
import { checkEvaluation, writeEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { inventedEvaluation, inventedRun } from "../support/inventedEvaluation.ts";
import { capturedTerminal } from "./captured.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
  writeFileSync(join(folder, "campaign.yaml"), "title: x\n");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const unusable = inventedEvaluation({
  runs: [
    inventedRun({ id: "run-1" }),
    inventedRun({
      id: "run-2",
      used: false,
      excluded_because: "unusable: frozen",
      checks: [
        checkEvaluation({
          code: "frozen",
          severity: "unusable",
          message: "frozen",
          evidence: {},
          hint: "fly it again",
        }),
      ],
    }),
  ],
});

/** The program with an evaluation that is already there; writing is real. */
async function run(
  args: string[],
  result: CampaignEvaluation | Error = inventedEvaluation(),
  terminal: Partial<Terminal> = {},
) {
  const captured = capturedTerminal(terminal);
  const asked: string[] = [];
  const known: Command[] = commands.map((command) => ({
    ...command,
    load: async () => (input, to) =>
      evaluate(input, to, {
        evaluateCampaign: async (manifest, options) => {
          asked.push(manifest);
          options?.onProgress?.({ done: 1, total: 5, run: "run-2", stage: "measuring" });
          if (result instanceof Error) throw result;
          await options?.write?.(result);
          return result;
        },
        writeEvaluation,
      }),
  }));
  const code = await runCli(["evaluate", ...args], captured, { commands: known });
  return { code, asked, stdout: captured.stdout(), stderr: captured.stderr() };
}
const written = (name = "evaluation.json"): unknown => JSON.parse(readFileSync(join(folder, name), "utf8"));

test("evaluate prints the tables, writes evaluation.json beside the manifest and says where", async () => {
  const { code, stdout, stderr } = await run([join(folder, "campaign.yaml")]);
  expect(code).toBe(0);
  expect(stderr).toBe("");
  expect(stdout).toContain("Invented campaign\n");
  expect(stdout.endsWith(`Written: ${join(folder, "evaluation.json")}\n`)).toBe(true);
  expect(written()).toEqual(inventedEvaluation());
  expect(readdirSync(folder).sort()).toEqual(["campaign.yaml", "evaluation.json"]);
});

test("a folder stands for the campaign.yaml in it; one without is refused", async () => {
  expect((await run([folder])).asked).toEqual([join(folder, "campaign.yaml")]);
  mkdirSync(join(folder, "empty"));
  const { code, stderr, asked } = await run([join(folder, "empty")]);
  expect(code).toBe(2);
  expect(asked).toEqual([]);
  expect(stderr).toContain("found a folder without campaign.yaml");
});

test("--json prints the evaluation and nothing else, and still writes the file", async () => {
  const { code, stdout, stderr } = await run([folder, "--json"], unusable, { progress: false });
  expect(code).toBe(0);
  expect(stderr).toBe("");
  expect(evaluationSchema.parse(JSON.parse(stdout))).toEqual(unusable);
  expect(written()).toEqual(unusable);
});

test("--json leaves standard output empty where the manifest is at fault", async () => {
  const { code, stdout, stderr } = await run([folder, "--json"], new ManifestError("manifest-invalid", "wrong"));
  expect(code).toBe(2);
  expect(stdout).toBe("");
  expect(stderr).toContain("wrong");
  expect(existsSync(join(folder, "evaluation.json"))).toBe(false);
});

test("--out writes elsewhere; - writes to standard output and to no file", async () => {
  const path = join(folder, "other.json");
  expect((await run([folder, "--out", path])).stdout).toContain(`Written: ${path}\n`);
  expect(written("other.json")).toEqual(inventedEvaluation());
  const { stdout } = await run([folder, "--out", "-"]);
  expect(JSON.parse(stdout)).toEqual(inventedEvaluation());
  expect(readdirSync(folder).sort()).toEqual(["campaign.yaml", "other.json"]);
});

test("an evaluation that is there is replaced, a log or the manifest never", async () => {
  writeFileSync(join(folder, "old.json"), '{ "schema": 1 }');
  writeFileSync(join(folder, "flight.bag"), "#ROSBAG V2.0\n");
  writeFileSync(join(folder, "foreign.json"), '{ "name": "other" }');
  expect((await run([folder, "--out", join(folder, "old.json")])).code).toBe(0);
  expect(written("old.json")).toEqual(inventedEvaluation());
  for (const [name, words] of [
    ["flight.bag", "found a file that is no evaluation"],
    ["foreign.json", "found a file that is no evaluation"],
    ["looks.jsonl", "found looks.jsonl, which holds the record of looks"],
    ["campaign.yaml", "found the manifest"],
    [".", "found a folder"],
    ["nowhere/x.json", "found no folder"],
  ] as const) {
    const { code, stderr, asked } = await run([folder, "--out", join(folder, name)]);
    expect(code).toBe(2);
    expect(stderr).toContain(words);
    // before the work, not after it
    expect(asked).toEqual([]);
  }
  expect(readFileSync(join(folder, "flight.bag"), "utf8")).toBe("#ROSBAG V2.0\n");
  expect(readFileSync(join(folder, "campaign.yaml"), "utf8")).toBe("title: x\n");
});

test("only --strict turns an unusable run into code 1; the evaluation is written all the same", async () => {
  expect((await run([folder], unusable)).code).toBe(0);
  rmSync(join(folder, "evaluation.json"));
  expect((await run([folder, "--strict"], unusable)).code).toBe(1);
  expect(written()).toEqual(unusable);
  expect((await run([folder, "--strict"])).code).toBe(0);
});

test("where no run can be used the code is 1, and the evaluation is written all the same", async () => {
  const whole = inventedEvaluation();
  const none = {
    ...whole,
    runs: whole.runs.map((run) => ({ ...run, used: false, excluded_because: "unusable: gap" })),
  };
  const { code, stdout } = await run([folder], none);
  expect(code).toBe(1);
  expect(stdout).toContain("Written: ");
  expect(written()).toEqual(none);
});

test("--quiet prints nothing, --quiet --json only the evaluation", async () => {
  expect(await run([folder, "--quiet"], inventedEvaluation(), { progress: true })).toMatchObject({
    stdout: "",
    stderr: "",
  });
  const { stdout, stderr } = await run([folder, "--quiet", "--json"], inventedEvaluation(), { progress: true });
  expect(JSON.parse(stdout)).toEqual(inventedEvaluation());
  expect(stderr).toBe("");
});

test("progress is shown on standard error where it is a terminal, and wiped at the end", async () => {
  const { stderr, stdout } = await run([folder], inventedEvaluation(), { progress: true });
  const wipe = `\r${String.fromCharCode(27)}[K`;
  expect(stderr).toBe(`${wipe}1 of 5 runs: run-2, measuring${wipe}`);
  expect(stdout).not.toContain("measuring");
  const fault = await run([folder], new ManifestError("manifest-invalid", "wrong"), { progress: true });
  expect(fault.stderr).toBe(`${wipe}1 of 5 runs: run-2, measuring${wipe}counterpoise: wrong\n`);
});

test("a fault of the tool writes no file", async () => {
  expect((await run([folder], new RangeError("oops"))).code).toBe(3);
  const broken = { ...inventedEvaluation(), title: 7 } as unknown as CampaignEvaluation;
  const { code, stderr } = await run([folder], broken);
  expect(code).toBe(3);
  expect(stderr).toContain("schema");
  expect(existsSync(join(folder, "evaluation.json"))).toBe(false);
});

test("--notes lists the notes", async () => {
  const note = { code: "recovered", severity: "note", message: "scanned", evidence: {}, hint: "" } as const;
  const evaluation = inventedEvaluation({ runs: [inventedRun({ id: "run-1", checks: [checkEvaluation(note)] })] });
  expect((await run([folder, "--full"], evaluation)).stdout).toContain("recovered 1. --notes lists them.");
  expect((await run([folder, "--notes"], evaluation)).stdout).toContain("run-1: recovered: scanned");
});

test("colour reaches the tables only on a terminal that shows it", async () => {
  const esc = String.fromCharCode(27);
  expect((await run([folder])).stdout).not.toContain(esc);
  expect((await run([folder], inventedEvaluation(), { colour: true })).stdout).toContain(esc);
});
