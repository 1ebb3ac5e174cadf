import { describe, expect, test } from "vitest";
import { createService } from "../../server/createService.ts";
import type { Service } from "../../server/Service.ts";
import { serviceStateSchema } from "../../src/contract/api/messages.ts";
import { evaluationSchema } from "../../src/contract/evaluation.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { shortFlight, shortManifest } from "../pipeline/shortCampaign.ts";
import { flights, type MemoryWorld, memoryWorld, runs, serveApp, serveWorld, until } from "./support.ts";

/** Two runs: enough where no verdict is looked at. */
const twoLogs = { "run-1.bag": flights["run-1.bag"]!, "run-4.bag": flights["run-4.bag"]! };
const twoRuns = runs.filter(({ log }) => log in twoLogs);
const small = (): MemoryWorld => memoryWorld(shortManifest(twoRuns), { ...twoLogs });

async function started(world: MemoryWorld): Promise<Service> {
  const service = createService("campaign.yaml", world.effects);
  await service.start();
  return service;
}

describe("files that change", () => {
  test("a log that changes makes the evaluation stale, and is evaluated once it has come to rest", async () => {
    const world = small();
    const service = await started(world);
    const before = service.judged();
    world.logsRead.length = 0;
    world.logs["run-1.bag"] = shortFlight(77);
    world.touch("run-1.bag");
    await world.tick();
    expect(service.state()).toMatchObject({ status: "ready", stale: true, changed: ["run-1.bag"], version: 1 });
    // still being copied
    world.touch("run-1.bag");
    await world.tick();
    expect(service.state().status).toBe("ready");
    expect(service.judged()).toBe(before);
    const meanwhile: unknown[] = [];
    service.subscribe({
      state: ({ status, stale, version }) => {
        // the last good one is served while the next is made
        if (status === "evaluating") meanwhile.push([stale, version, service.judged() === before]);
      },
      end: () => undefined,
    });
    await world.tick();
    expect(meanwhile.length).toBeGreaterThan(3);
    expect(new Set(meanwhile.map(String))).toEqual(new Set(["true,1,true"]));
    await until(service, ({ version }) => version === 2);
    expect(service.state()).toMatchObject({ status: "ready", stale: false, changed: [], error: null });
    // only what changed was read again
    expect(world.logsRead).toEqual(["run-1.bag"]);
    const rms = ({ evaluation }: typeof before, k: number): number =>
      evaluation.runs[k]!.tracking.cycles!.vehicle!.x.rms;
    expect(rms(service.judged(), 0)).not.toBe(rms(before, 0));
    expect(rms(service.judged(), 1)).toBe(rms(before, 1));
    await service.stop();
  });

  test("what is remembered of unchanged runs gives the evaluation that a fresh start gives", async () => {
    const world = small();
    const service = await started(world);
    world.write("campaign.yaml", shortManifest(twoRuns).replace("short flights", "autumn"));
    await world.tick();
    await world.tick();
    await until(service, ({ version }) => version === 2);
    const fresh = await evaluateCampaign("campaign.yaml", { effects: world.effects.disk });
    expect(service.judged().evaluation).toEqual({ ...fresh, looks: expect.anything() });
    expect(service.judged().evaluation.title).toContain("autumn");
    await service.stop();
  });

  test("an edited tolerance gives the evaluation that a fresh start gives", async () => {
    const world = small();
    const service = await started(world);
    for (const [version, tolerance] of ["2 mm", "9 mm"].entries()) {
      world.write("campaign.yaml", `${shortManifest(twoRuns)}\ntolerance: ${tolerance}\n`);
      await world.tick();
      await world.tick();
      await until(service, (state) => state.version === version + 2);
      const fresh = await evaluateCampaign("campaign.yaml", { effects: world.effects.disk });
      expect(service.judged().evaluation.runs[0]!.within!.cycles).not.toBeNull();
      expect(service.judged().evaluation.runs).toEqual(fresh.runs);
    }
    await service.stop();
  });

  test("a file that comes back as it was is no longer stale", async () => {
    const world = small();
    let stamp = "a";
    const service = await started({
      ...world,
      effects: { ...world.effects, stamp: async (path) => (path === "run-1.bag" ? stamp : world.effects.stamp(path)) },
    });
    stamp = "b";
    await world.tick();
    expect(service.state().stale).toBe(true);
    stamp = "a";
    await world.tick();
    expect(service.state()).toMatchObject({ stale: false, changed: [], version: 1, status: "ready" });
    await service.stop();
  });

  test("a log that is not there yet is seen when it comes", async () => {
    const world = small();
    const late = world.logs["run-4.bag"]!;
    delete world.logs["run-4.bag"];
    const service = await started(world);
    expect(service.judged().evaluation.runs[1]!.used).toBe(false);
    world.logs["run-4.bag"] = late;
    world.touch("run-4.bag");
    await world.tick();
    await world.tick();
    await until(service, ({ version }) => version === 2);
    expect(service.judged().evaluation.runs[1]!.used).toBe(true);
    await service.stop();
  });

  test("nothing changes, nothing is evaluated", async () => {
    const world = small();
    const service = await started(world);
    for (let k = 0; k < 5; k++) await world.tick();
    expect(service.state()).toMatchObject({ version: 1, status: "ready", stale: false });
    await service.stop();
  });
});

describe("evaluations that fail", () => {
  test("a manifest that breaks leaves the last good evaluation, tells the fault with its place, and is seen mended", async () => {
    const world = small();
    const service = await started(world);
    const before = service.judged();
    world.write("campaign.yaml", shortManifest(twoRuns).replace("baseline:", "baselin:"));
    await world.tick();
    await world.tick();
    const failed = await until(service, ({ status }) => status === "failed");
    expect(failed).toMatchObject({ version: 1, stale: true, changed: ["campaign.yaml"], progress: null });
    expect(failed.error).toMatchObject({ code: "manifest-invalid", hint: "did you mean baseline?" });
    expect(failed.error!.place).toMatch(/^campaign\.yaml:\d+:1$/);
    expect(service.judged()).toBe(before);
    // it is not tried again and again
    for (let k = 0; k < 3; k++) await world.tick();
    expect(service.state().status).toBe("failed");
    world.write("campaign.yaml", shortManifest(twoRuns));
    await world.tick();
    await world.tick();
    await until(service, ({ version }) => version === 2);
    expect(service.state()).toMatchObject({ status: "ready", error: null, stale: false });
    await service.stop();
  });

  test("an evaluation that fails half way leaves the last good one", async () => {
    const world = small();
    let break_ = false;
    const service = await started({
      ...world,
      effects: {
        ...world.effects,
        disk: {
          ...world.effects.disk,
          // a run has a border of its own; what comes after all of them has not
          now: () => {
            if (break_) throw new TypeError("the clock was taken out");
            return world.effects.disk.now();
          },
        },
      },
    });
    const before = service.judged();
    break_ = true;
    world.touch("run-1.bag");
    world.touch("run-4.bag");
    await world.tick();
    await world.tick();
    const failed = await until(service, ({ status }) => status === "failed");
    expect(failed.error).toMatchObject({
      code: "internal",
      message: "a fault of the tool: TypeError: the clock was taken out",
    });
    expect(service.judged()).toBe(before);
    await service.stop();
  });

  test("a service that starts on a faulty table of runs has nothing to serve, says why, and sees it mended", async () => {
    const world = small();
    const manifest = shortManifest([]).replace(/runs:[\s\S]*$/, "runs: runs.csv\n");
    world.write("campaign.yaml", manifest);
    world.write("runs.csv", "log,configuration,trajectory\nrun-1.bag,bare,orbti\n");
    const service = await started(world);
    expect(service.state()).toMatchObject({ status: "failed", version: 0 });
    expect(service.hasShown()).toBe(false);
    expect(() => service.judged()).toThrow(expect.objectContaining({ code: "not-evaluated" }));
    world.write("runs.csv", "log,configuration,trajectory\nrun-1.bag,bare,orbit\n");
    await world.tick();
    await world.tick();
    await until(service, ({ version }) => version === 1);
    expect(service.judged().evaluation.runs).toHaveLength(1);
    await service.stop();
  });
});

describe("a person's word", () => {
  test("a run is excluded and included again: kept beside the manifest, seen in evaluation, runs and cell", async () => {
    const world = memoryWorld();
    const served = await serveWorld(world);
    const first = evaluationSchema.parse((await served.ask("/api/evaluation")).json());
    world.logsRead.length = 0;
    const said = await served.change("POST", "/api/exclusions", { run: "run-2", reason: "arm jammed in cycle 4" });
    expect(said.status).toBe(202);
    expect(said.json().exclusions).toEqual([
      { run: "run-2", include: false, reason: "arm jammed in cycle 4", at: expect.stringMatching(/^\d{4}-.*Z$/) },
    ]);
    expect(world.files.get("exclusions.yaml")).toContain("arm jammed in cycle 4");
    await until(served.service, ({ version }) => version === 2);
    const { runs: rows } = (await served.ask("/api/runs")).json();
    expect(rows[1]).toMatchObject({
      used: false,
      excluded_because: "arm jammed in cycle 4",
      decision: { source: "exclusions.yaml", include: false, reason: "arm jammed in cycle 4" },
    });
    const cell = (await served.ask("/api/cells/orbit/vehicle/y/rms")).json();
    expect(cell.cell.baseline.n).toBe(2);
    expect(cell.cell.verdict).toBe("too few runs");
    // with the excluded run put back it is the first evaluation's
    const original = first.cells.find((c) => c.subject === "vehicle" && c.axis === "y" && c.in_family)!;
    expect(cell.all_runs).toEqual({
      difference: original.difference,
      ci95: original.ci95,
      p: original.p,
      p_family: original.p_family,
      verdict: original.verdict,
    });
    expect(cell.runs[1]).toMatchObject({ id: "run-2", used: false, could_be_put_back: true });

    const back = await served.change("DELETE", "/api/exclusions", { run: "run-2" });
    expect([back.status, back.json()]).toEqual([202, { exclusions: [] }]);
    await until(served.service, ({ version }) => version === 3);
    const last = evaluationSchema.parse((await served.ask("/api/evaluation")).json());
    // with too few runs no verdict was seen in between, and what is seen now was seen before
    expect(last.looks.count).toBe(1);
    // exclusions.yaml is now among the inputs
    expect({ ...last, inputs: first.inputs }).toEqual(first);
    // no log was read again for it
    expect(world.logsRead).toEqual([]);
    await served.close();
  });

  test("a run that the manifest excludes can be put back with a reason", async () => {
    const world = memoryWorld(shortManifest([{ ...twoRuns[0]!, exclude: "marker loose" }, twoRuns[1]!]), {
      ...twoLogs,
    });
    const served = await serveWorld(world);
    const rows = async () => (await served.ask("/api/runs")).json().runs;
    expect((await rows())[0]).toMatchObject({
      used: false,
      decision: { source: "manifest", include: false, reason: "marker loose", at: null },
    });
    await served.change("POST", "/api/exclusions", { run: "run-1", include: true, reason: "it was the other one" });
    await until(served.service, ({ version }) => version === 2);
    expect((await rows())[0]).toMatchObject({ used: true, decision: { source: "exclusions.yaml", include: true } });
    await served.close();
  });

  test("an exclusions.yaml at fault is not written over: 409, and the file stays", async () => {
    const world = small();
    const served = await serveWorld(world);
    world.write("exclusions.yaml", "exclusions: [{ run: run-1 }]\n");
    const answer = await served.change("POST", "/api/exclusions", { run: "run-4", reason: "marker loose" });
    expect([answer.status, answer.json().error.code]).toEqual([409, "exclusions-invalid"]);
    expect(world.files.get("exclusions.yaml")).toBe("exclusions: [{ run: run-1 }]\n");
    await served.close();
  });

  test("changes asked for at once are all kept", async () => {
    const world = memoryWorld();
    const served = await serveWorld(world);
    const ids = ["run-1", "run-2", "run-3", "run-4"];
    await Promise.all(ids.map((run) => served.change("POST", "/api/exclusions", { run, reason: "gusts at the door" })));
    const { exclusions } = (await served.ask("/api/exclusions")).json();
    expect(exclusions.map(({ run }: { run: string }) => run).sort()).toEqual(ids);
    await until(served.service, ({ status }) => status === "ready");
    expect(served.service.judged().evaluation.runs.filter(({ used }) => used)).toHaveLength(2);
    await served.close();
  });

  test("a disk that refuses is reported, and the service goes on", async () => {
    const world = small();
    const served = await serveWorld({
      ...world,
      effects: {
        ...world.effects,
        disk: {
          ...world.effects.disk,
          writeAtomically: async () => {
            throw new Error("EROFS: read-only file system");
          },
        },
      },
    });
    const answer = await served.change("POST", "/api/exclusions", { run: "run-4", reason: "marker loose" });
    expect([answer.status, answer.json().error.code]).toEqual([500, "not-written"]);
    expect(served.service.state()).toMatchObject({ version: 1, status: "ready" });
    await served.close();
  });
});

describe("progress", () => {
  test("the events tell the state at once, then each step, and end when the service stops", async () => {
    const world = small();
    const service = createService("campaign.yaml", world.effects);
    const served = await serveApp(service, { every: world.effects.every });
    // resolves with the headers: from here on the stream is open
    const stream = await fetch(`${served.listening.address}/api/progress`);
    await service.start();
    await world.tick();
    await service.stop();
    const text = await stream.text();
    expect(stream.headers.get("content-type")).toBe("text/event-stream; charset=utf-8");
    const states = [...text.matchAll(/^event: state\ndata: (.*)$/gm)].map(([, data]) =>
      serviceStateSchema.parse(JSON.parse(data!)),
    );
    expect(states[0]).toMatchObject({ status: "evaluating", version: 0 });
    expect(states.map(({ progress }) => progress?.stage)).toEqual(
      expect.arrayContaining(["captures", "measuring", "hashing", "done"]),
    );
    expect(states.at(-1)).toMatchObject({ status: "ready", version: 1 });
    // a tick is also a beat of the stream
    expect(text).toContain(": still here");
    await served.close();
  });

  test("more streams than any person opens are refused, and closed ones make room", async () => {
    const world = small();
    const served = await serveApp(createService("campaign.yaml", world.effects));
    const controllers = Array.from({ length: 64 }, () => new AbortController());
    await Promise.all(controllers.map(({ signal }) => fetch(`${served.listening.address}/api/progress`, { signal })));
    const refused = await served.ask("/api/progress");
    expect([refused.status, refused.json().error.code]).toEqual([503, "too-many-streams"]);
    expect((await served.ask("/api/campaign")).status).toBe(200);
    for (const controller of controllers) controller.abort();
    const again = new AbortController();
    let status = 503;
    while (status === 503) {
      status = (await fetch(`${served.listening.address}/api/progress`, { signal: again.signal })).status;
    }
    expect(status).toBe(200);
    again.abort();
    await served.close();
  });

  test("before the first evaluation the campaign is null and the rest waits", async () => {
    const served = await serveApp(createService("campaign.yaml", small().effects));
    expect((await served.ask("/api/campaign")).json()).toMatchObject({ state: { version: 0 }, campaign: null });
    for (const path of [
      "/api/runs",
      "/api/cells",
      "/api/evaluation",
      "/api/runs/run-1/series",
      "/api/export/runs.csv",
    ]) {
      const answer = await served.ask(path);
      expect([path, answer.status, answer.json().error.code]).toEqual([path, 503, "not-evaluated"]);
    }
    await served.close();
  });

  test("a service that is stopped half way ends at the next log", async () => {
    const world = small();
    const service = createService("campaign.yaml", world.effects);
    const running = service.start();
    const leave = service.subscribe({
      state: ({ progress }) => {
        if (progress?.stage === "measuring") void service.stop();
      },
      end: () => undefined,
    });
    await running;
    leave();
    expect(service.hasShown()).toBe(false);
    expect(world.logsRead.length).toBeLessThan(2);
  });
});

test("a run is aligned once for many drawings, and again when its log changes", async () => {
  const world = small();
  const served = await serveWorld(world);
  world.logsRead.length = 0;
  await Promise.all(
    ["series", "cycles", "hover", "series?from=10", "series?subject=effector"].map((part) =>
      served.ask(`/api/runs/run-1/${part}`),
    ),
  );
  expect(world.logsRead).toEqual(["run-1.bag"]);
  await served.change("POST", "/api/exclusions", { run: "run-1", reason: "marker loose" });
  await until(served.service, ({ version }) => version === 2);
  await served.ask("/api/runs/run-1/series");
  expect(world.logsRead).toEqual(["run-1.bag"]);
  world.touch("run-1.bag");
  await served.ask("/api/runs/run-1/series");
  expect(world.logsRead).toEqual(["run-1.bag", "run-1.bag"]);
  await served.close();
});
