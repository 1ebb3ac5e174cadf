import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { createService } from "../../server/createService.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { shortManifest } from "../pipeline/shortCampaign.ts";
import { errorNumbers } from "../support/errorNumbers.ts";
import { memoryWorld, runs, type Served, serveApp, until } from "./support.ts";

const cell = { trajectory: "orbit", subject: "vehicle", axis: "x", metric: "rms" } as const;
const exclude = { run: "run-2", include: false, reason: "bare and windy" };

/** Every address that the API answers a GET on. */
const addresses = [
  ...Object.values(apiPaths).filter((path) => typeof path === "string"),
  ...Object.values(apiPaths.export),
  apiPaths.cell(cell),
  ...runs.flatMap(({ id }) => [
    apiPaths.run(id),
    apiPaths.setup(id),
    ...["vehicle", "effector", "arm"].flatMap((subject) =>
      [apiPaths.series, apiPaths.cycles, apiPaths.hover].map((of) => `${of(id)}?subject=${subject}`),
    ),
  ]),
].filter((path) => path !== apiPaths.progress && path !== apiPaths.opening);

describe("a blind service", () => {
  const world = memoryWorld();
  let served: Served;
  beforeAll(async () => {
    const service = createService("campaign.yaml", world.effects, { blind: true });
    served = await serveApp(service);
    await service.start();
    await until(service, ({ status }) => status !== "evaluating");
  });
  afterAll(() => served?.close());

  test("answers nothing that compares: 403 and what to do instead", async () => {
    const { evaluation, cells, reasons, plan } = apiPaths;
    for (const path of [evaluation, cells, reasons, plan, apiPaths.cell(cell), ...Object.values(apiPaths.export)]) {
      const { status, json } = await served.ask(path);
      expect([path, status, json().error.code]).toEqual([path, 403, "blind"]);
    }
    expect([...world.files.keys()]).toEqual(["campaign.yaml"]);
  });

  test("no answer holds a configuration's name, or a number of an error or a difference; none sets a letter beside a run", async () => {
    expect((await served.change("POST", apiPaths.exclusions, exclude)).status).toBe(202);
    await until(served.service, ({ version, status }) => version > 1 && status === "ready");
    const evaluation = await evaluateCampaign("campaign.yaml", { effects: world.effects.disk, look: false });
    const errors = new Set(errorNumbers(evaluation));
    expect(errors.size).toBeGreaterThan(500);
    const errorsIn = (text: string): string[] =>
      (text.match(/-?\d[\d.]*(?:e[+-]?\d+)?/g) ?? [])
        .flatMap((number) => [number, number.replace(/^-/, "")])
        .filter((number) => errors.has(number));
    // what is looked for is found where it stands
    expect(new Set(errorsIn(JSON.stringify(evaluation)))).toEqual(errors);
    let answered = 0;
    for (const path of addresses) {
      const { status, text, json } = await served.ask(path);
      if (status === 403) continue;
      answered++;
      expect([path, status]).toEqual([path, 200]);
      for (const name of ["bare", "weighted", "Arm alone", "Counterweights fitted"])
        expect(text, path).not.toContain(name);
      expect([path, errorsIn(text)]).toEqual([path, []]);
      if (runs.some(({ id }) => text.includes(`"${id}"`))) expect([path, lettersIn(json())]).toEqual([path, []]);
    }
    // campaign, exclusions, runs, audit, questions, rig, and of six runs the run, its set-up and nine drawings
    expect(answered).toBe(6 + 6 * 11);
  });

  test("no answer changes when two runs exchange their configurations: what does not depend on them cannot give them away", async () => {
    const exchanged = runs.map((run) =>
      run.id === "run-1" || run.id === "run-4"
        ? { ...run, configuration: run.configuration === "bare" ? "weighted" : "bare" }
        : run,
    );
    const other = memoryWorld(shortManifest(exchanged));
    const said = world.files.get("exclusions.yaml");
    if (said !== undefined) other.write("exclusions.yaml", said);
    const service = createService("campaign.yaml", other.effects, { blind: true });
    const second = await serveApp(service);
    try {
      await service.start();
      // the first service checked twice
      const textOf = async ({ ask }: Served, path: string): Promise<string> =>
        (await ask(path)).text.replace(/"(version|stamp)":("\w+"|\d+)/g, "");
      // the audit counts runs, packs, masses and valid samples under the letters; the test above looks for errors in it
      for (const path of addresses.filter((one) => one !== apiPaths.audit))
        expect(await textOf(second, path), path).toBe(await textOf(served, path));
    } finally {
      await second.close();
    }
  });

  test("is opened by a person's word from its own pages, and from then on shows the answer under the configurations' names", async () => {
    const foreign = { origin: "http://example.com", "content-type": "application/json" };
    const refused = await served.ask(apiPaths.opening, { method: "POST", headers: foreign, body: "{}" });
    expect([refused.status, served.service.blind, world.files.has("looks.jsonl")]).toEqual([403, true, false]);
    expect((await served.change("POST", apiPaths.opening, {})).status).toBe(202);
    await until(served.service, ({ blind, status }) => !blind && status === "ready");
    const { campaign } = (await served.ask(apiPaths.campaign)).json();
    expect(campaign.blind).toBe(false);
    expect(campaign.configurations.map(({ label }: { label: string }) => label)).toEqual([
      "Arm alone",
      "Counterweights fitted",
    ]);
    expect((await served.ask(apiPaths.cells)).status).toBe(200);
    expect((await served.ask(apiPaths.exclusions)).json().exclusions[0].reason).toBe("bare and windy");
  });
});

/** Where "A" or "B" stands as a value. */
function lettersIn(value: unknown, place = ""): string[] {
  if (value === "A" || value === "B") return [place];
  if (typeof value !== "object" || value === null) return [];
  return Object.entries(value).flatMap(([key, each]) => lettersIn(each, `${place}.${key}`));
}
