import { csvParse } from "d3-dsv";
import { afterAll, beforeAll, expect, test } from "vitest";
import { campaignAnswerSchema } from "../../src/contract/api/campaignAnswer.ts";
import { cellAnswerSchema, cellsAnswerSchema } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import {
  cyclesAnswerSchema,
  hoverAnswerSchema,
  runAnswerSchema,
  runsAnswerSchema,
  type SeriesAnswer,
  seriesAnswerSchema,
} from "../../src/contract/api/runAnswers.ts";
import { type CampaignEvaluation, evaluationSchema } from "../../src/contract/evaluation.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { answerSentences } from "../../src/report/answerSentence.ts";
import { memoryWorld, type Served, serveWorld } from "./support.ts";

let served: Served;
let evaluation: CampaignEvaluation;

beforeAll(async () => {
  served = await serveWorld(memoryWorld());
  evaluation = evaluationSchema.parse((await served.ask(apiPaths.evaluation)).json());
});
afterAll(() => served.close());

test("the campaign brings the answer in words, its configurations and the state of the service", async () => {
  const answer = await served.ask(apiPaths.campaign);
  expect(answer.status).toBe(200);
  expect(answer.headers["cache-control"]).toBe("no-store");
  const { state, campaign } = campaignAnswerSchema.parse(answer.json());
  expect(state).toMatchObject({ status: "ready", version: 1, stale: false, error: null, progress: null });
  expect(campaign!.title).toBe("Tank-wall swab arm, short flights");
  expect(campaign!.manifest).toBe("campaign.yaml");
  expect(campaign!.answer).toEqual(answerSentences(evaluation));
  expect(campaign!.configurations.map(({ name, role, runs, used }) => [name, role, runs, used])).toEqual([
    ["bare", "baseline", 3, 3],
    ["weighted", "candidate", 3, 3],
  ]);
  expect(campaign!.trajectories).toEqual([
    expect.objectContaining({ name: "orbit", shape: "circle", plane: "yz", radius: 0.06, cycles: 6 }),
  ]);
  // one trajectory, vehicle and effector, three axes
  expect(campaign!.family).toBe(6);
  expect(campaign!.subjects).toEqual(["vehicle", "effector", "arm"]);
});

test("the evaluation is served as it would be written", async () => {
  const { text, headers } = await served.ask(apiPaths.evaluation);
  expect(headers["content-type"]).toBe("application/json; charset=utf-8");
  const { effects } = memoryWorld();
  expect(text).toBe(evaluationJson(await evaluateCampaign("campaign.yaml", { effects: effects.disk })));
});

test("the runs carry what the evaluation says of them, in the order of the manifest", async () => {
  const { runs } = runsAnswerSchema.parse((await served.ask(apiPaths.runs)).json());
  expect(runs.map(({ id }) => id)).toEqual(evaluation.runs.map(({ id }) => id));
  expect(runs.map(({ order }) => order)).toEqual([1, 2, 3, 4, 5, 6]);
  for (const [k, run] of runs.entries()) {
    const own = evaluation.runs[k]!;
    expect(run.rms.effector!.z).toBe(own.tracking.cycles!.effector!.z.rms);
    expect(run.cycles).toBe(own.windows.cycles.length);
    expect(run.decision).toBeNull();
  }
});

test("one run is its part of the evaluation", async () => {
  const answer = runAnswerSchema.parse((await served.ask(apiPaths.run("run-2"))).json());
  expect(answer.run).toEqual(evaluation.runs[1]);
});

test("cells can be asked for by trajectory, subject, axis and metric, alone and together", async () => {
  const ask = async (query: string) =>
    cellsAnswerSchema.parse((await served.ask(`${apiPaths.cells}${query}`)).json()).cells;
  expect(await ask("")).toEqual(evaluation.cells);
  expect(await ask("?axis=y&metric=rms")).toEqual(
    evaluation.cells.filter(({ axis, metric }) => axis === "y" && metric === "rms"),
  );
  expect(await ask("?trajectory=orbit&subject=arm&axis=x&metric=sd")).toHaveLength(1);
  expect(await ask("?trajectory=elsewhere")).toEqual([]);
});

const cellPath = (axis: "x" | "y" | "z", metric: "rms" | "sd" = "rms"): string =>
  apiPaths.cell({ trajectory: "orbit", subject: "vehicle", axis, metric });

test("a cell brings its runs and cycles, and the permutation histogram holds every arrangement once", async () => {
  const answer = cellAnswerSchema.parse((await served.ask(cellPath("y"))).json());
  const { cell, permutation, runs } = answer;
  expect(cell).toEqual(
    evaluation.cells.find((c) => c.subject === "vehicle" && c.axis === "y" && c.metric === "rms" && c.in_family),
  );
  expect(runs.map(({ id, value }) => [id, value])).toEqual(
    evaluation.runs.map(({ id, tracking }) => [id, tracking.cycles!.vehicle!.y.rms]),
  );
  expect(runs[0]!.per_cycle).toEqual(evaluation.runs[0]!.tracking.cycles!.vehicle!.y.per_cycle);
  // 6 choose 3
  expect(permutation!.arrangements).toBe(20);
  const sum = (counts: number[]): number => counts.reduce((total, count) => total + count, 0);
  expect(sum(permutation!.counts)).toBe(20);
  // the p of an exact test is the share of arrangements at least as extreme
  expect(sum(permutation!.extreme) / 20).toBeCloseTo(cell.p_permutation!, 12);
  expect(permutation!.observed).toBeCloseTo(cell.difference!, 12);
  expect(permutation!.edges).toHaveLength(permutation!.counts.length + 1);
});

test("leaving one run out is reported for each run of the pair, with 2 against 3 no verdict", async () => {
  const { leave_one_out, all_runs } = cellAnswerSchema.parse((await served.ask(cellPath("x"))).json());
  expect(leave_one_out.map(({ run }) => run)).toEqual(evaluation.runs.map(({ id }) => id));
  for (const one of leave_one_out) expect(one.verdict).toBe("too few runs");
  // the mean of the others, by hand
  const rms = evaluation.runs.map(({ tracking }) => tracking.cycles!.vehicle!.x.rms);
  const mean = (values: number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
  expect(leave_one_out[0]!.difference).toBeCloseTo(mean(rms.slice(3)) - mean(rms.slice(1, 3)), 12);
  // nothing was excluded
  expect(all_runs).toBeNull();
});

test("an exploratory cell has no verdicts and no power curve", async () => {
  const { cell, leave_one_out, power } = cellAnswerSchema.parse((await served.ask(cellPath("y", "sd"))).json());
  expect(cell.in_family).toBe(false);
  expect(leave_one_out.map(({ verdict, p_family }) => [verdict, p_family])).toEqual(Array(6).fill([null, null]));
  expect(power).toBeNull();
});

test("the power curves reach the power asked for at the cell's runs needed", async () => {
  const { cell, power } = cellAnswerSchema.parse((await served.ask(cellPath("y"))).json());
  for (const end of ["low", "middle", "high"] as const) {
    const needed = cell.runs_needed![end];
    for (const [k, count] of power!.runs.entries()) {
      if (count >= needed) expect(power![end][k]).toBeGreaterThanOrEqual(power!.target);
      // fewer than the fewest that carry a verdict are never asked for
      else expect(power![end][k]).toBeLessThan(power!.target);
    }
  }
});

const seriesOf = async (query: string, run = "run-1"): Promise<SeriesAnswer> =>
  seriesAnswerSchema.parse((await served.ask(`${apiPaths.series(run)}${query}`)).json());

test.each(["vehicle", "effector", "arm"] as const)(
  "the figures of a brushed window are the evaluation's where it is the cycle window (%s)",
  async (subject) => {
    const run = evaluation.runs[0]!;
    const [from, to] = [run.windows.cycles[0]![0], run.windows.cycles.at(-1)![1]];
    const { figures, window, frame } = await seriesOf(`?subject=${subject}&from=${from}&to=${to}`);
    expect(window).toEqual([from, to]);
    expect(frame).toBe(subject === "arm" ? "vehicle" : "world");
    for (const axis of ["x", "y", "z", "norm"] as const) {
      const { bias, sd, rms, p95 } = run.tracking.cycles![subject]![axis];
      expect(figures![axis]).toMatchObject({ bias, sd, rms, p95 });
    }
  },
);

test("a series is no longer than asked for, and its extremes are the window's", async () => {
  const { stretches, figures } = await seriesOf("?subject=vehicle&points=50");
  const entries = stretches.flatMap(({ start }) => start);
  expect(entries.length).toBeLessThanOrEqual(50);
  for (const axis of ["x", "y", "z"] as const) {
    const low = Math.min(...stretches.flatMap((stretch) => stretch[axis].low));
    const high = Math.max(...stretches.flatMap((stretch) => stretch[axis].high));
    expect(Math.max(-low, high)).toBe(figures![axis].max_abs);
    expect(high - low).toBe(figures![axis].range);
  }
});

test("zoomed in far enough every entry is a sample", async () => {
  const { stretches, figures } = await seriesOf("?from=10&to=11&points=4000");
  const [stretch, ...more] = stretches;
  expect(more).toEqual([]);
  expect(stretch!.start).toHaveLength(figures!.n);
  expect(stretch!.start).toEqual(stretch!.end);
  expect(stretch!.x.low).toEqual(stretch!.x.high);
});

test("the path holds measured and commanded points in the world, the command reaching over the window", async () => {
  const { path } = await seriesOf("?subject=effector&from=10&to=12");
  const [measured] = path.measured;
  const [command] = path.command;
  expect(measured!.t[0]).toBeGreaterThanOrEqual(10);
  expect(measured!.t.at(-1)).toBeLessThan(12);
  expect(command!.t[0]).toBeLessThanOrEqual(measured!.t[0]!);
  expect(command!.t.at(-1)).toBeGreaterThanOrEqual(measured!.t.at(-1)!);
  // the circle of 60 mm radius in the y-z plane is 120 mm wide; a cycle takes 1.508 s
  const width = Math.max(...command!.y) - Math.min(...command!.y);
  expect(width).toBeGreaterThan(0.115);
  expect(width).toBeLessThan(0.13);
});

test("the cycles are all there, and their mean is the mean of the bins", async () => {
  const answer = cyclesAnswerSchema.parse(
    (await served.ask(`${apiPaths.cycles("run-1")}?subject=vehicle&points=24`)).json(),
  );
  expect(answer.cycles.map(({ window }) => window)).toEqual(evaluation.runs[0]!.windows.cycles);
  expect(answer.phase).toHaveLength(24);
  expect(answer.phase[0]).toBeCloseTo(Math.PI / 24, 12);
  expect(answer.behind).toEqual(Array(24).fill(answer.cycles.length));
  const column = answer.cycles.map(({ y }) => y[5]!);
  expect(answer.mean.y[5]).toBeCloseTo(column.reduce((sum, value) => sum + value, 0) / column.length, 12);
});

test("the scatter of the hold window is every k-th sample", async () => {
  const answer = hoverAnswerSchema.parse((await served.ask(`${apiPaths.hover("run-1")}?points=100`)).json());
  expect(answer.window).toEqual(evaluation.runs[0]!.windows.hold);
  expect(answer.every).toBe(Math.ceil(answer.n / 100));
  expect(answer.x).toHaveLength(Math.ceil(answer.n / answer.every));
  expect(answer.t.every((t) => t >= answer.window![0] && t < answer.window![1])).toBe(true);
});

test("the exports are files: JSON as served, CSV with the unit in every heading that has one, or in the row", async () => {
  const json = await served.ask(apiPaths.export.evaluation);
  expect(json.headers["content-disposition"]).toBe("attachment; filename=evaluation.json");
  expect(json.json()).toEqual(evaluation);
  const cells = await served.ask(apiPaths.export.cells);
  expect(cells.headers["content-type"]).toBe("text/csv; charset=utf-8");
  const rows = csvParse(cells.text);
  expect(rows).toHaveLength(evaluation.cells.length);
  expect(Number(rows[0]!.difference)).toBe(evaluation.cells[0]!.difference);
  expect(rows[0]!.unit).toBe("m");
  expect(rows[0]!["baseline run ids"]).toBe("run-1; run-2; run-3");
  const runs = csvParse((await served.ask(apiPaths.export.runs)).text);
  // two windows, three subjects, three axes and the norm
  expect(runs).toHaveLength(6 * 2 * 3 * 4);
  const row = runs.find(
    (one) => one.run === "run-4" && one.window === "cycles" && one.subject === "arm" && one.axis === "z",
  );
  expect(Number(row!["rms (m)"])).toBe(evaluation.runs[3]!.tracking.cycles!.arm!.z.rms);
});

test("nothing is excluded, and the answer says so", async () => {
  expect((await served.ask(apiPaths.exclusions)).json()).toEqual({ exclusions: [] });
});
