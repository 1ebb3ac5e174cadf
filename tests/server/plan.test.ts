import { afterAll, beforeAll, expect, test } from "vitest";
import { createService } from "../../server/createService.ts";
import type { Service } from "../../server/Service.ts";
import { planAnswerSchema } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import { planOf } from "../../src/pipeline/planFlights.ts";
import { cardsStart } from "../../src/report/plan/planCardsPage.ts";
import { memoryWorld, type Served, serveApp } from "./support.ts";

let service: Service;
let served: Served;
const world = memoryWorld();

beforeAll(async () => {
  service = createService("campaign.yaml", world.effects);
  served = await serveApp(service);
});
afterAll(() => served.close());

const fault = async (path: string): Promise<unknown> => {
  const answer = await served.ask(path);
  return [answer.status, answer.json().error.code];
};
const planned = async (query = "") => planAnswerSchema.parse((await served.ask(`${apiPaths.plan}${query}`)).json());

test("before the first evaluation there is no plan", async () => {
  expect(await fault(apiPaths.plan)).toEqual([503, "not-evaluated"]);
  await service.start();
});

test("the plan is what follows from the evaluation and the wish", async () => {
  const { campaign, evaluation } = service.judged();
  expect(await planned()).toEqual(planOf(campaign, evaluation));
  const wished = await planned("?runs=4&blocks=2&seed=7&sham=no");
  expect(wished).toEqual(planOf(campaign, evaluation, { runs: 4, blocks: 2, seed: 7 }));
  // three of each are flown already
  expect(wished.plan).toMatchObject({ runs_per_configuration: 7, runs_to_fly: 4, flown: 3, blocks: 2 });
  expect(wished.day).toMatchObject({ seed: 7, runs_per_configuration: 4, blocks: 2 });
});

test("asking for a plan counts no look", () => {
  // one for the evaluation at the start
  expect(world.files.get("looks.jsonl")!.trim().split("\n")).toHaveLength(1);
});

test("the files are those of the same wish, handed out to be kept", async () => {
  const query = "?runs=3&seed=11";
  const { day } = await planned(query);
  const csv = await served.ask(`${apiPaths.export.nextRuns}${query}`);
  expect(csv.headers["content-type"]).toBe("text/csv; charset=utf-8");
  expect(csv.headers["content-disposition"]).toBe("attachment; filename=next-runs.csv");
  expect(csv.text).toBe(day.runs_csv);
  const cards = await served.ask(`${apiPaths.export.testCards}${query}`);
  expect(cards.headers["content-type"]).toBe("text/html; charset=utf-8");
  expect(cards.headers["content-disposition"]).toBe("attachment; filename=test-cards.html");
  expect(cards.headers["content-security-policy"]).toContain("style-src 'self'");
  const page = cards.text;
  expect(page.startsWith(cardsStart)).toBe(true);
  expect(page).toContain("seed of the order 11");
  expect(page).toContain("circle in yz");
});

test.each([
  ["?runs=1", "bad-query"],
  ["?runs=2&blocks=3", "not-a-plan"],
  ["?sham=yes", "no-sham"],
  ["?runs=0", "bad-query"],
  ["?runs=41", "bad-query"],
  ["?runs=two", "bad-query"],
  ["?runs=2.5", "bad-query"],
  ["?runs=3&runs=4", "bad-query"],
  ["?blocks=21", "bad-query"],
  ["?seed=-1", "bad-query"],
  ["?seed=4294967296", "bad-query"],
  ["?sham=maybe", "bad-query"],
  ["?flights=3", "bad-query"],
])("%s is refused, for the plan and its files", async (query, code) => {
  for (const path of [apiPaths.plan, apiPaths.export.nextRuns, apiPaths.export.testCards])
    expect(await fault(`${path}${query}`)).toEqual([400, code]);
});
