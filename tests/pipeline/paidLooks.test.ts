import { beforeAll, describe, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { Effects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { shortFlight, shortManifest } from "./shortCampaign.ts";

const names = ["a", "b", "c", "d", "e", "f", "g", "h"];
const logs = Object.fromEntries(names.map((name, i) => [`${name}.bag`, shortFlight(700 + i)]));

const paid = "looks: { runs_at_most: 4, spending: pocock }";

function manifestOf(count: number, more = paid): string {
  const runs = names.slice(0, count).map((name, i) => ({
    log: `${name}.bag`,
    id: name,
    configuration: i % 2 === 0 ? "bare" : "weighted",
    trajectory: "orbit",
  }));
  return `${shortManifest(runs).trimEnd()}\n${more}\n`;
}

/** A folder in memory, whose record of looks is read again. */
function lab(): { evaluate: (manifest: string) => Promise<CampaignEvaluation>; written: Map<string, string> } {
  const written = new Map<string, string>();
  const evaluate = (manifest: string): Promise<CampaignEvaluation> => {
    const disk = memoryEffects(manifest, logs, written);
    const effects: Effects = {
      ...disk,
      readText: async (path) => written.get(path) ?? disk.readText(path),
      size: async (path) => written.get(path)?.length ?? disk.size(path),
    };
    return evaluateCampaign("campaign.yaml", { effects });
  };
  return { evaluate, written };
}

const lines = (written: Map<string, string>): { paid?: { cells: { p: number; verdict: string }[] } }[] =>
  (written.get("looks.jsonl") ?? "")
    .trim()
    .split("\n")
    .map((line) => JSON.parse(line));

describe("flights looked at as they come", () => {
  const { evaluate, written } = lab();
  let first: CampaignEvaluation;
  let again: CampaignEvaluation;
  let last: CampaignEvaluation;
  beforeAll(async () => {
    first = await evaluate(manifestOf(6));
    again = await evaluate(manifestOf(6));
    last = await evaluate(manifestOf(8));
  }, 60_000);
  const family = ({ cells }: CampaignEvaluation) => cells.filter((cell) => cell.in_family);

  test("each look spends its share: level ln(1 + (e - 1) t), all of it when all are flown", () => {
    const at = 0.05 * Math.log(1 + (Math.E - 1) * 0.75);
    expect(first.looks.paid).toMatchObject({ runs_at_most: 4, spending: "pocock", error: 0.05 });
    expect(first.looks.paid!.trajectories[0]!.fraction).toBeCloseTo(0.75, 12);
    expect(first.looks.paid!.trajectories[0]!.cost).toBeCloseTo(at, 12);
    expect(last.looks.paid!.trajectories[0]!.cost).toBeCloseTo(0.05 - at, 12);
    expect(last.looks.paid!.trajectories[0]!.spent).toBeCloseTo(0.05, 12);
  });

  test("looking again at the same is the same look, figure for figure, and costs nothing more", () => {
    expect(again.cells).toEqual(first.cells);
    expect(again.looks).toEqual(first.looks);
    expect(lines(written)).toHaveLength(2);
  });

  test("what a look showed is on record for those after it", () => {
    expect(family(last).map(({ look }) => look!.fractions)).toEqual(family(last).map(() => [0.75, 1]));
    expect(lines(written)[0]!.paid!.cells.map(({ verdict }) => verdict)).toEqual(
      family(first).map(({ verdict }) => verdict),
    );
    for (const [i, { look }] of family(last).entries())
      expect(look!.entered).toBe(Math.min(look!.p, lines(written)[0]!.paid!.cells[i]!.p));
  });

  test("intervals are wider than those of a single look, and exploratory cells stay as they were", async () => {
    const plain = await lab().evaluate(manifestOf(6, ""));
    for (const [i, cell] of family(plain).entries()) {
      const own = family(first)[i]!;
      expect(own.ci95![0]).toBeLessThan(cell.ci95![0]);
      expect(own.ci95![1]).toBeGreaterThan(cell.ci95![1]);
      expect([own.difference, own.p]).toEqual([cell.difference, cell.p]);
    }
    const rest = (evaluation: CampaignEvaluation) => evaluation.cells.filter((cell) => !cell.in_family);
    expect(rest(first)).toEqual(rest(plain));
    expect(plain.looks).not.toHaveProperty("paid");
    expect(plain.cells.every((cell) => !("look" in cell))).toBe(true);
  });

  test("the audit has nothing against looks that are paid for", () => {
    expect(last.looks.count).toBe(2);
    expect(last.audit.findings.filter(({ code }) => code === "many-looks")).toEqual([]);
  });
});

test("a claim on record stays made, with more flights that show nothing", async () => {
  const { evaluate, written } = lab();
  await evaluate(manifestOf(6));
  const [line] = lines(written);
  const cells = line!.paid!.cells.map((cell, i) => (i === 0 ? { ...cell, p: 1e-4, verdict: "steadier" } : cell));
  written.set("looks.jsonl", `${JSON.stringify({ ...line, paid: { ...line!.paid, cells } })}\n`);
  const [cell] = (await evaluate(manifestOf(8))).cells;
  expect(cell).toMatchObject({ verdict: "steadier", look: { claimed: { verdict: "steadier" }, entered: 1e-4 } });
  expect(cell!.look!.p).toBeGreaterThan(0.01);
  // and a doubted one does not count: it was no claim
  const doubted = cells.map((own, i) => (i === 0 ? { ...own, verdict: "doubted" } : own));
  written.set("looks.jsonl", `${JSON.stringify({ ...line, paid: { ...line!.paid, cells: doubted } })}\n`);
  const [other] = (await evaluate(manifestOf(8))).cells;
  expect(other!.look!.claimed).toBeNull();
  expect(other!.look!.entered).toBe(other!.look!.p);
}, 60_000);

describe("the price is sealed at the first look", () => {
  const { evaluate, written } = lab();
  let record: string;
  beforeAll(async () => {
    await evaluate(manifestOf(6));
    record = written.get("looks.jsonl")!;
  }, 60_000);

  test.each([
    ["more runs", "looks: { runs_at_most: 5, spending: pocock }", "expected { runs_at_most: 4, spending: pocock }"],
    ["other spending", "looks: { runs_at_most: 4 }", "found { runs_at_most: 4, spending: obrien-fleming }"],
    ["none any more", "", "found no `looks`"],
    [
      "another family",
      `${paid}\nfamily: [{ trajectory: orbit, subject: vehicle, axes: [y] }]`,
      "found a family of 1 cell (without ",
    ],
  ])("%s: refused, with what was sealed and when, and nothing is written", async (_, more, message) => {
    const fault = await evaluate(manifestOf(6, more)).catch((error: unknown) => error);
    expect(fault).toMatchObject({ code: "looks-sealed", place: "campaign.yaml: looks" });
    expect((fault as Error).message).toContain(message);
    expect((fault as Error).message).toContain("2026-05-04");
    expect(written.get("looks.jsonl")).toBe(record);
  });

  test("what was looked at free of charge cannot be paid for afterwards", async () => {
    const free = lab();
    await free.evaluate(manifestOf(6, ""));
    const fault = await free.evaluate(manifestOf(8)).catch((error: unknown) => error);
    expect(fault).toMatchObject({ code: "looks-sealed" });
    expect((fault as Error).message).toContain("(1 look on record)");
    expect((fault as { hint: string }).hint).toContain("take `looks` out");
  });
});
