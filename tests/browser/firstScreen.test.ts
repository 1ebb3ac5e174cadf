import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { afterAll, beforeAll, expect, test } from "vitest";
import { typeset } from "../../client/app/words.ts";
import type { CampaignAnswer } from "../../src/contract/api/campaignAnswer.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { describeWith } from "../support/available.ts";
import { type Dashboard, drawn, openDashboard, visit } from "./openDashboard.ts";
import { isRounded, numbersIn } from "./shownNumber.ts";

const metres = 1e3;

describeWith(["chromium"], "the first screen", () => {
  let dashboard: Dashboard;
  let evaluation: CampaignEvaluation;
  beforeAll(async () => {
    dashboard = await openDashboard();
    evaluation = await dashboard.evaluation();
  });
  afterAll(() => dashboard?.close());

  test("the sentence claims what the family's verdicts say and no more", async () => {
    const { campaign } = await dashboard.ask<CampaignAnswer>("/api/campaign");
    // what it costs stands below the answer, and claims nothing of steadiness
    const shown = await dashboard.page.locator(".answer, .answer-more:not(.answer-costs, .both-ways)").allInnerTexts();
    expect(shown).toEqual(campaign!.answer.map(typeset));
    const family = evaluation.cells.filter(({ in_family }) => in_family);
    // a part of the answer, from its first words to the end of that sentence
    const said = (start: RegExp): string => shown.find((text) => start.test(text)) ?? "";
    const claims = said(/^With “Counterweights fitted” instead of “Arm alone”/).replace(/\(.*?\)/g, "");
    expect(claims).not.toBe("");
    expect(placesIn(claims)).toEqual(placesOf(family, "steadier"));
    expect(placesIn(said(/^No difference that matters/).replace(/\(.*?\)/g, ""))).toEqual(
      placesOf(family, "no difference that matters"),
    );
    expect(placesIn(said(/^Within the noise/))).toEqual(placesOf(family, "within the noise"));
    expect(placesOf(family, "less steady")).toEqual([]);
  });

  // the project's own limits, in bytes as gzip packs them: what a telephone beside the arena has to fetch
  test("the first screen's script and style are at most 45 kB gzipped, those of all pages 140 kB", async () => {
    const page = await dashboard.reader();
    const fetched: Promise<Buffer>[] = [];
    page.on("response", (response) => {
      if (/\.(js|css)$/.test(new URL(response.url()).pathname)) fetched.push(response.body());
    });
    await visit(page, `${dashboard.address}/#/`);
    const first = await Promise.all(fetched);
    await page.context().close();
    const packed = (files: readonly Buffer[]): number => files.reduce((sum, file) => sum + gzipSync(file).length, 0);
    const folder = join(import.meta.dirname, "../../dist/client/assets");
    const all = readdirSync(folder).map((name) => readFileSync(join(folder, name)));
    expect(first.length).toBeGreaterThan(2);
    expect(packed(first)).toBeLessThanOrEqual(45e3);
    expect(packed(all)).toBeLessThanOrEqual(140e3);
  });

  test("at a glance: lost and doubted runs, and each cell's sign, word and difference, all above the fold", async () => {
    const family = evaluation.cells.filter(({ in_family }) => in_family);
    const page = await dashboard.reader();
    for (const [width, height] of [
      [1440, 900],
      [1024, 768],
    ] as const) {
      await page.setViewportSize({ width, height });
      await visit(page, `${dashboard.address}/#/`);
      const links = await page.locator(".glance-cell").evaluateAll((all) =>
        all.map((link) => ({
          href: decodeURIComponent(link.getAttribute("href")) as string,
          word: link.querySelector(".glance-word").textContent as string,
          difference: link.querySelector(".glance-difference").textContent as string,
        })),
      );
      expect(links).toHaveLength(family.length);
      for (const cell of family) {
        const own = links.find(({ href }) => href === `#/cell/${cell.trajectory}/${cell.subject}/${cell.axis}/rms`)!;
        expect(own.word, own.href).toBe(cell.verdict);
        expect(isRounded(numbersIn(own.difference)[0]!, cell.difference! * metres), own.href).toBe(true);
      }
      const named = await page.locator(".glance-runs [data-run]").allInnerTexts();
      for (const { id, used } of evaluation.runs) if (!used) expect(named).toContain(id);
      const answer = page.locator(".answer");
      for (const part of [page.locator(".glance-runs"), page.locator(".glance-grid"), answer]) {
        const box = (await part.boundingBox())!;
        expect(box.y + box.height, `${width}: ${await part.getAttribute("class")}`).toBeLessThanOrEqual(height);
      }
      expect((await answer.innerText()).split(/\s+/).length).toBeLessThanOrEqual(60);
    }
    await page.context().close();
  });

  test("every verdict and every number on the board is that of evaluation.json", async () => {
    const family = evaluation.cells.filter(({ in_family }) => in_family);
    const cells = dashboard.page.locator("section.board-section > .board-place td.board-cell");
    expect(await cells.count()).toBe(family.length);
    for (const cell of family) {
      const name = `${cell.trajectory}/${cell.subject}/${cell.axis}/${cell.metric}`;
      const td = dashboard.page.locator(`td.board-cell[data-cell="${name}"]`);
      expect(await td.locator(".verdict > span").last().innerText(), name).toBe(cell.verdict);
      const [lengths, ...more] = await td.locator(".cell-numbers > span").allInnerTexts();
      expect(more, `${name}: sign, word, difference, interval and one mark are a cell's budget`).toEqual([]);
      expect(await td.locator(".tip").isVisible(), name).toBe(false);
      const facts = await td.locator(".tip .facts").innerText();
      const inMm = numbersIn(lengths!.replace("mm", ""));
      const expected = [cell.difference!, ...cell.ci95!].map((value) => value * metres);
      expect(inMm, name).toHaveLength(3);
      inMm.forEach((shown, k) => {
        expect(isRounded(shown, expected[k]!), `${name}: ${lengths} of ${expected[k]}`).toBe(true);
      });
      expect(await td.locator("data.difference").getAttribute("value"), name).toBe(String(cell.difference));
      const [percent, n] = facts!.split(", ");
      expect(isRounded(numbersIn(percent!)[0]!, 100 * cell.ratio!), `${name}: ${percent}`).toBe(true);
      expect(n, name).toBe(`${cell.baseline.n} v ${cell.candidate.n}`);
      const alone = (await td.locator(".tip .alone").allInnerTexts())[0] ?? "";
      const clear = cell.ci95![0] > 0 || cell.ci95![1] < 0;
      if (clear && cell.verdict === "within the noise") {
        const [p, among, pFamily] = numbersIn(alone);
        expect(alone, name).toMatch(/^clear alone .*not among/);
        expect([isRounded(p!, cell.p!), among!.value, isRounded(pFamily!, cell.p_family!)], alone).toEqual([
          true,
          family.length,
          true,
        ]);
      } else {
        const p = facts!.split(", ")[2]!;
        if (p.includes("<")) expect(cell.p_family, name).toBeLessThan(numbersIn(p)[0]!.value);
        else expect(isRounded(numbersIn(p)[0]!, cell.p_family!), `${name}: ${p} of ${cell.p_family}`).toBe(true);
      }
      const remarks = await td.locator("button.mark").allInnerTexts();
      expect(
        remarks.some((text) => text.startsWith("fragile")),
        name,
      ).toBe(cell.fragile.length > 0);
    }
  });

  test("each drawing holds one sign per run, at its value, and the interval where it lies", async () => {
    for (const cell of evaluation.cells.filter(({ in_family }) => in_family)) {
      const td = dashboard.page.locator(
        `td.board-cell[data-cell="${cell.trajectory}/${cell.subject}/${cell.axis}/${cell.metric}"]`,
      );
      const { ticks, runs, interval } = await td.locator("svg.sketch").evaluate((svg) => ({
        ticks: [...svg.querySelectorAll(".tick")].map((tick) => [
          tick.querySelector("text").textContent,
          Number(tick.querySelector("line").getAttribute("x1")),
        ]) as [string, number][],
        runs: [...svg.querySelectorAll("title")].map((title) => [
          title.textContent,
          title.parentElement.transform.baseVal.consolidate().matrix.e,
        ]) as [string, number][],
        interval: svg.querySelector("path.interval").getAttribute("d") as string,
      }));
      const [first, last] = [ticks[0]!, ticks[ticks.length - 1]!];
      const value = ([text]: [string, number]): number => numbersIn(text)[0]!.value;
      const perMm = (last[1] - first[1]) / (value(last) - value(first));
      const at = (mm: number): number => first[1] + perMm * (mm - value(first));
      const mean = cell.baseline.mean!;
      const expected = [cell.baseline, cell.candidate].flatMap((side) =>
        side.runs.map((run, k): [string, number] => [run, at((side.values[k]! - mean) * metres)]),
      );
      expect(runs.map(([run]) => run)).toEqual(expected.map(([run]) => run));
      // places are written to hundredths of a pixel
      runs.forEach(([run, x], k) => {
        expect(Math.abs(x - expected[k]![1]), `${run} in ${cell.axis}`).toBeLessThan(0.01);
      });
      const ends = /^M([\d.-]+),.*H([\d.-]+)M/.exec(interval)!.slice(1).map(Number);
      cell.ci95!.forEach((end, k) => {
        expect(Math.abs(ends[k]! - at(end * metres))).toBeLessThan(0.01);
      });
    }
  });

  test("the runs of the day show what evaluation.json says of each: errors, checks, whether it counts", async () => {
    for (const run of evaluation.runs) {
      const row = dashboard.page.locator(`tr[data-run="${run.id}"]`);
      const shown = (await row.locator("td.number").allInnerTexts()).slice(1);
      const figures = run.tracking.cycles ?? run.tracking.hold;
      const expected = (["vehicle", "effector"] as const).flatMap((subject) =>
        (["x", "y", "z"] as const).map((axis) => run.tracking.cycles?.[subject]?.[axis].rms ?? null),
      );
      shown.forEach((text, k) => {
        const value = expected[k];
        if (value === null || value === undefined) expect(text, run.id).toBe("–");
        else expect(isRounded(numbersIn(text)[0]!, value * metres), `${run.id}: ${text} of ${value}`).toBe(true);
      });
      expect(shown, `${run.id} ${figures === null}`).toHaveLength(6);
      const checks = await row.locator("td.checks").innerText();
      for (const { code } of run.checks) expect(checks, run.id).toContain(code);
      if (run.checks.length === 0) expect(checks, run.id).toBe("none");
      expect((await row.locator("td.use").innerText()).startsWith("used"), run.id).toBe(run.used);
    }
  });

  test("the runs can be sorted, found, parted by use and block, and are drawn in the order flown; the address holds how", async () => {
    const page = await dashboard.reader();
    await visit(page, `${dashboard.address}/#/`);
    const shown = (): Promise<string[]> =>
      page.locator("table.runs tr[data-run]").evaluateAll((all) => all.map((each) => each.getAttribute("data-run")));
    const rmsOf = (id: string): number | undefined =>
      evaluation.runs.find((run) => run.id === id)!.tracking.cycles?.effector?.y.rms;
    const ids = evaluation.runs.map(({ id }) => id);
    const falling = ids
      .filter((id) => rmsOf(id) !== undefined)
      .sort((a, b) => rmsOf(b)! - rmsOf(a)!)
      .concat(ids.filter((id) => rmsOf(id) === undefined));
    const head = page.locator("th:has(#sort-effector-y)");
    await head.getByRole("button").click();
    expect(await head.getAttribute("aria-sort")).toBe("ascending");
    await page.locator(":focus").press("Enter");
    expect(await head.getAttribute("aria-sort")).toBe("descending");
    expect(await shown()).toEqual(falling);
    await page.getByRole("textbox", { name: "Find" }).fill("ORBIT pack-a");
    const found = evaluation.runs.filter((run) => run.trajectory === "orbit" && run.battery === "pack-A");
    expect((await shown()).sort()).toEqual(found.map(({ id }) => id).sort());
    await page.getByRole("textbox", { name: "Find" }).fill("");
    await page.getByRole("combobox", { name: "Show" }).selectOption("left out");
    expect((await shown()).sort()).toEqual(evaluation.runs.flatMap(({ id, used }) => (used ? [] : [id])));
    await page.getByRole("combobox", { name: "Show" }).selectOption("all");
    await page.getByLabel("by block").check();
    await page.getByRole("combobox", { name: "Drawn" }).selectOption("Vehicle, x");
    const blocks = [...new Set(evaluation.runs.map(({ block }) => block))];
    const held = async (): Promise<void> => {
      expect(await page.locator(".runs-block th").allInnerTexts()).toEqual(
        blocks.map((block) => {
          const own = evaluation.runs.filter((run) => run.block === block);
          return `${block} ${own.filter(({ used }) => used).length} of ${own.length} used`;
        }),
      );
      const order = await shown();
      expect(order).toEqual(
        blocks.flatMap((block) => falling.filter((id) => evaluation.runs.find((r) => r.id === id)!.block === block)),
      );
      // of a trajectory: further right is later, higher up is more
      const marks = await page.locator(".order-place .run-link").evaluateAll((all) =>
        all.map((link) => {
          const [x, y] = /translate\(([\d.]+),([\d.]+)\)/
            .exec(link.querySelector("path").getAttribute("transform"))!
            .slice(1);
          return { run: link.getAttribute("data-run") as string, x: Number(x), y: Number(y) };
        }),
      );
      for (const trajectory of ["orbit", "reach"]) {
        const own = evaluation.runs.filter(
          (r) => r.trajectory === trajectory && r.tracking.cycles?.vehicle !== undefined,
        );
        const drawn = marks.filter(({ run }) => own.some(({ id }) => id === run));
        expect(drawn.map(({ run }) => run)).toEqual(own.map(({ id }) => id));
        expect(drawn.map(({ x }) => x)).toEqual(drawn.map(({ x }) => x).sort((a, b) => a - b));
        const rising = [...own].sort((a, b) => a.tracking.cycles!.vehicle!.x.rms - b.tracking.cycles!.vehicle!.x.rms);
        expect([...drawn].sort((a, b) => b.y - a.y).map(({ run }) => run)).toEqual(rising.map(({ id }) => id));
      }
    };
    await held();
    await page.reload();
    await drawn(page, "Answer");
    await held();
    await page.context().close();
  });

  test("another metric is shown without any verdict, and says that it is exploratory", async () => {
    const { page } = dashboard;
    for (const metric of ["range", "sd", "synchronous"] as const) {
      await page.getByRole("link", { name: metric, exact: true }).first().click();
      await page.locator(`td.board-cell[data-cell$="/${metric}"]`).first().waitFor();
      await drawn(page, "Answer");
      const board = page.locator("section.board-section");
      expect(await board.locator(".exploratory").innerText()).toMatch(/^Exploratory: shown without verdicts/);
      const words = await board.locator("td.board-cell").allInnerTexts();
      expect(words.length).toBeGreaterThan(12);
      for (const text of words) {
        expect(text).toContain("exploratory");
        expect(text).not.toMatch(/steadier|less steady|no difference|within the noise|too few runs|\bp [<\d]/);
      }
      for (const cell of evaluation.cells.filter((each) => each.metric === metric && each.difference !== null)) {
        const name = `${cell.trajectory}/${cell.subject}/${cell.axis}/${metric}`;
        const shown = await page.locator(`td.board-cell[data-cell="${name}"] data.difference`).innerText();
        expect(isRounded(numbersIn(shown)[0]!, cell.difference! * metres), `${name}: ${shown}`).toBe(true);
      }
    }
    await page.getByRole("link", { name: "rms (primary)" }).click();
    await page.locator('td.board-cell[data-cell$="/rms"]').first().waitFor();
  });

  test("the theme follows the system until the reader chooses, and the choice is remembered", async () => {
    const page = await dashboard.reader({ colorScheme: "dark" });
    await visit(page, `${dashboard.address}/#/`);
    const paper = (): Promise<string> =>
      page
        .locator(":root")
        .evaluate((root) => root.ownerDocument.defaultView.getComputedStyle(root).backgroundColor as string);
    const dark = await paper();
    await page.getByRole("button", { name: "Light page" }).click();
    const light = await paper();
    expect(brightness(dark)).toBeLessThan(0.2);
    expect(brightness(light)).toBeGreaterThan(0.9);
    await visit(page, `${dashboard.address}/#/synchronous/orbit/vehicle`);
    expect(await paper()).toBe(light);
    await page.getByRole("button", { name: "Dark page" }).focus();
    await page.keyboard.press("Enter");
    expect(await paper()).toBe(dark);
    await page.context().close();
  });

  test("nothing went wrong meanwhile: no console error, no refusal, no request off the machine", () => {
    expect(dashboard.faults).toEqual([]);
  });
});

type Cells = CampaignEvaluation["cells"];

function placesOf(cells: Cells, verdict: Cells[number]["verdict"]): string[] {
  return cells
    .filter((cell) => cell.verdict === verdict)
    .map(({ trajectory, subject, axis }) => `${subject} ${axis} ${trajectory}`)
    .sort();
}

/** The places of a sentence such as "the vehicle along x and y in orbit; the effector along z in both trajectories". */
function placesIn(sentence: string): string[] {
  return sentence
    .split(/(?<!the vehicle and )(?=the vehicle|the effector)/)
    .flatMap((part) => {
      const [, first, second] = /^the (vehicle|effector)(?: and the (effector))?/.exec(part) ?? [];
      const subjects = [first, second].filter((subject) => subject !== undefined);
      return [...part.matchAll(/along ((?:[xyz](?:, | and )?)+) in (both trajectories|orbit|reach)/g)].flatMap(
        ([, axes, where]) =>
          axes!.match(/\b[xyz]\b/g)!.flatMap((axis) => {
            const trajectories = where === "both trajectories" ? ["orbit", "reach"] : [where!];
            return subjects.flatMap((subject) => trajectories.map((trajectory) => `${subject} ${axis} ${trajectory}`));
          }),
      );
    })
    .sort();
}

/** 0 (black) to 1 (white) */
function brightness(colour: string): number {
  const [r, g, b] = colour.match(/[\d.]+/g)!.map(Number);
  return (r! + g! + b!) / (3 * 255);
}
