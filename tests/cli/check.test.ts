import { mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { check } from "../../src/cli/commands/check.ts";
import type { CampaignCheck } from "../../src/contract/look.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { inventedCheck } from "../support/inventedCheck.ts";
import { capturedTerminal } from "./captured.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
  writeFileSync(join(folder, "campaign.yaml"), "title: x\n");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

async function checked(found: CampaignCheck, flags: readonly string[] = []): Promise<{ code: number; out: string }> {
  const terminal = capturedTerminal();
  const input = { flags: new Set(flags), values: new Map<string, string>(), operands: [folder] };
  const checkCampaign = async () => ({ check: found, campaign: {} as never, letters: new Map<string, string>() });
  return { code: await check(input, terminal, { checkCampaign }), out: terminal.stdout() };
}

const frozen = checkEvaluation({
  code: "frozen",
  severity: "unusable",
  message: "vehicle_pose stands still",
  evidence: {},
  hint: "fly it again",
});
const lost = (check: CampaignCheck, which: (k: number) => boolean): CampaignCheck => ({
  ...check,
  runs: check.runs.map((run, k) =>
    which(k) ? { ...run, used: false, excluded_because: "unusable: frozen", checks: [frozen] } : run,
  ),
});

test("a campaign of which some run can be used is checked with 0, with --strict 1 where one is unusable", async () => {
  const some = lost(inventedCheck(), (k) => k === 0);
  expect((await checked(inventedCheck())).code).toBe(0);
  expect((await checked(some)).code).toBe(0);
  expect((await checked(some, ["strict"])).code).toBe(1);
  expect(readdirSync(folder)).toEqual(["campaign.yaml"]);
});

test("where no run can be used, that is said right under the title, with the commonest reason, and the code is 1", async () => {
  const { code, out } = await checked(lost(inventedCheck(), () => true));
  expect(code).toBe(1);
  expect(out.replace(/\n/g, " ")).toMatch(
    /^Invented campaign {2}NOTHING CAN BE EVALUATED: none of the 5 runs can be used, all of them for frozen \(run-1: vehicle_pose stands still\)\./,
  );
  expect(out).toContain("Next: mend what is said of the runs above, and check again.");
});

test("the text names no configuration but by its letter, and says when the answer was first seen", async () => {
  const { out } = await checked({ ...inventedCheck(), opened: "2026-05-04T08:00:00.000Z" });
  expect(out).toContain("A and B");
  expect(out).not.toMatch(/bare|weighted|Arm alone|Counterweights fitted|baseline|candidate/);
  expect(out).toContain("first seen on 2026-05-04");
});

test("--json prints the check alone", async () => {
  const { out } = await checked(inventedCheck(), ["json"]);
  expect(JSON.parse(out)).toEqual(inventedCheck());
});
