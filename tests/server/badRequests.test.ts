import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { createService } from "../../server/createService.ts";
import { judgeCampaign } from "../../server/ServiceEffects.ts";
import { allowedHosts } from "../../server/security.ts";
import { faultAnswerSchema } from "../../src/contract/api/bricks.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { shortManifest } from "../pipeline/shortCampaign.ts";
import { type Answer, flights, memoryWorld, type Served, serveApp } from "./support.ts";

let served: Served;
let folder: string;
let origin: string;
const faults: unknown[] = [];

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-client-"));
  mkdirSync(join(folder, "client/assets"), { recursive: true });
  writeFileSync(join(folder, "client/index.html"), "<!doctype html><title>page</title>");
  writeFileSync(join(folder, "client/assets/main-abc123.js"), "export {};");
  writeFileSync(join(folder, "client/.hidden"), "hidden");
  writeFileSync(join(folder, "secret.txt"), "secret");
  const logs = { "a.bag": flights["run-1.bag"]! };
  const service = createService("campaign.yaml", memoryWorld(shortManifest(["a.bag", "lost.bag"]), logs).effects);
  served = await serveApp(service, {
    clientFolder: join(folder, "client"),
    onFault: (error) => void faults.push(error),
  });
  origin = `http://127.0.0.1:${served.listening.port}`;
  await service.start();
});
afterAll(async () => {
  await served.close();
  rmSync(folder, { recursive: true });
});

/** Every refusal has a status, a code, words, and never a stack. */
function expectFault(answer: Answer, status: number, code: string): void {
  expect([answer.status, answer.text]).toEqual([status, expect.stringContaining(`"code":"${code}"`)]);
  const { error } = faultAnswerSchema.parse(answer.json());
  expect(error.message).toMatch(/found /);
  expect(answer.text).not.toMatch(/\.ts:|\.js:|node_modules|\n\s+at /);
  expect(answer.headers["cache-control"]).toBe("no-store");
}

describe("what is not there", () => {
  test.each([
    ["/api/runs/nobody", "unknown-run"],
    ["/api/runs/nobody/series", "unknown-run"],
    ["/api/runs/nobody/cycles", "unknown-run"],
    ["/api/runs/nobody/hover", "unknown-run"],
    ["/api/runs/__proto__", "unknown-run"],
    ["/api/bench", "no-bench"],
    ["/api/export/bench.csv", "no-bench"],
    ["/api/cells/elsewhere/vehicle/x/rms", "unknown-cell"],
    ["/api/cells/constructor/vehicle/x/rms", "unknown-cell"],
    ["/api/nothing", "unknown-address"],
    ["/api", "unknown-address"],
    ["/api/export/secret.txt", "unknown-address"],
  ])("%s is 404 %s", async (path, code) => {
    expectFault(await served.ask(path), 404, code);
  });

  test("a run that is spelled nearly right is suggested", async () => {
    const { error } = (await served.ask("/api/runs/losst")).json();
    expect(error.hint).toBe("did you mean lost?");
  });

  test("a run whose log could not be read has an evaluation, and nothing to draw: the reason is reported", async () => {
    expect((await served.ask("/api/runs/lost")).status).toBe(200);
    const answer = await served.ask("/api/runs/lost/series");
    expectFault(answer, 422, "nothing-to-draw");
    expect(answer.text).toContain("found no such file, expected a log");
  });
});

describe("queries", () => {
  test.each([
    "series?from=NaN",
    "series?from=Infinity",
    "series?from=",
    "series?from=0x10",
    "series?from=1e999",
    "series?to=-1e300&from=-1e301",
    "series?from=5&to=5",
    "series?from=9&to=5",
    "series?from=1000&to=2000",
    "series?to=-5",
    "series?from=1&from=2",
    "series?from[a]=2",
    "series?points=0",
    "series?points=9",
    "series?points=4001",
    "series?points=12.5",
    "series?points=-20",
    "series?subject=wing",
    "series?subject=",
    "series?unknown=1",
    "series?__proto__=1",
    "series?constructor=1",
    "series?from=%00",
    `series?from=${"9".repeat(5000)}`,
    "cycles?points=7",
    "cycles?points=1e9",
    "cycles?subject=__proto__",
    "hover?points=abc",
  ])("/api/runs/a/%s is 400", async (query) => {
    expectFault(await served.ask(`/api/runs/a/${query}`), 400, "bad-query");
  });

  test.each(["axis=w", "metric=mean", "subject=arm&subject=vehicle", "other=1", `trajectory=${"x".repeat(300)}`])(
    "/api/cells?%s is 400",
    async (query) => {
      expectFault(await served.ask(`/api/cells?${query}`), 400, "bad-query");
    },
  );

  test.each(["/api/cells/orbit/wing/x/rms", "/api/cells/orbit/vehicle/w/rms", "/api/cells/orbit/vehicle/x/mean"])(
    "%s is 400",
    async (path) => {
      expectFault(await served.ask(path), 400, "bad-address");
    },
  );
});

describe("nothing outside is ever opened", () => {
  const climbs = [
    "../secret.txt",
    "..%2fsecret.txt",
    "..%5csecret.txt",
    "%2e%2e/secret.txt",
    "%2e%2e%2fsecret.txt",
    "....//secret.txt",
    "..%252fsecret.txt",
    "/etc/passwd",
    "%2fetc%2fpasswd",
    "..%00/secret.txt",
    "campaign.yaml",
    "a.bag",
  ];
  const places = [
    (climb: string) => `/${climb}`,
    (climb: string) => `/assets/${climb}`,
    (climb: string) => `/assets/../${climb}`,
    (climb: string) => `/api/runs/${climb}`,
    (climb: string) => `/api/runs/${climb}/series`,
    (climb: string) => `/api/runs/${climb}/cycles`,
    (climb: string) => `/api/runs/${climb}/hover`,
    (climb: string) => `/api/cells/${climb}/vehicle/x/rms`,
    (climb: string) => `/api/cells/orbit/${climb}/x/rms`,
    (climb: string) => `/api/cells/orbit/vehicle/${climb}/rms`,
    (climb: string) => `/api/cells/orbit/vehicle/x/${climb}`,
    (climb: string) => `/api/export/${climb}`,
    (climb: string) => `/api/runs/a/series?subject=${climb}`,
    (climb: string) => `/api/runs/a/series?from=${climb}`,
    (climb: string) => `/api/cells?metric=${climb}`,
  ];
  test.each(climbs)("%s in every parameter", async (climb) => {
    for (const place of places) {
      const path = place(climb);
      const answer = await served.ask(path);
      expect([path, answer.status], answer.text).toEqual([path, expect.toSatisfy((s) => s === 400 || s === 404)]);
      expect(answer.text).not.toMatch(/^secret|root:|^title:/);
    }
  });

  test("hidden files of the client's folder stay hidden", async () => {
    expect((await served.ask("/.hidden")).status).toBe(404);
  });
});

describe("who may ask", () => {
  test.each(["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost", "[::1]:PORT", "127.0.0.1:PORT.evil.example", ""])(
    "Host %s is 421",
    async (pattern) => {
      const host = pattern.replace("PORT", String(served.listening.port));
      for (const path of ["/api/campaign", "/", "/api/progress"])
        expectFault(await served.ask(path, { headers: { host } }), 421, "wrong-host");
    },
  );

  test("browsers leave port 80 out, and no other", () => {
    expect(allowedHosts(80)).toEqual(["127.0.0.1:80", "localhost:80", "127.0.0.1", "localhost"]);
    expect(allowedHosts(8080)).toEqual(["127.0.0.1:8080", "localhost:8080"]);
  });

  test("localhost by name is this machine", async () => {
    const host = `LOCALHOST:${served.listening.port}`;
    expect((await served.ask("/api/campaign", { headers: { host } })).status).toBe(200);
  });

  const body = JSON.stringify({ run: "a", reason: "marker loose" });
  const json = { "content-type": "application/json" };

  test.each(["http://evil.example", "null", "https://127.0.0.1:PORT", "http://localhost:PORT", "http://127.0.0.1:1"])(
    "a change from the origin %s is 403",
    async (pattern) => {
      const from = pattern.replace("PORT", String(served.listening.port));
      for (const method of ["POST", "DELETE"])
        expectFault(
          await served.ask("/api/exclusions", { method, headers: { ...json, origin: from }, body }),
          403,
          "foreign-origin",
        );
    },
  );

  test("a change without an origin is 403", async () => {
    expectFault(await served.ask("/api/exclusions", { method: "POST", headers: json, body }), 403, "foreign-origin");
  });

  test.each(["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "application/jsonp", ""])(
    "a change of the type %s is 415",
    async (type) => {
      const headers = { origin, ...(type === "" ? {} : { "content-type": type }) };
      expectFault(await served.ask("/api/exclusions", { method: "POST", headers, body }), 415, "not-json");
    },
  );

  test.each(["PUT", "PATCH", "OPTIONS", "TRACE"])("the method %s is 405", async (method) => {
    expectFault(await served.ask("/api/exclusions", { method, headers: { origin } }), 405, "wrong-method");
  });

  test.each(["cross-site", "same-site"])("what a %s page asks of the API is 403", async (site) => {
    const headers = { "sec-fetch-site": site };
    expectFault(await served.ask("/api/campaign", { headers }), 403, "foreign-origin");
    // a link from elsewhere to the page itself is no harm
    expect((await served.ask("/", { headers })).status).toBe(200);
  });

  test.each(["same-origin", "none"])("what a %s page asks is answered", async (site) => {
    expect((await served.ask("/api/campaign", { headers: { "sec-fetch-site": site } })).status).toBe(200);
  });

  test("no answer carries leave for other origins to read it", async () => {
    const { headers } = await served.ask("/api/campaign", { headers: { origin: "http://evil.example" } });
    expect(headers["access-control-allow-origin"]).toBeUndefined();
    expect(headers["cross-origin-resource-policy"]).toBe("same-origin");
  });
});

describe("bodies", () => {
  const post = (body: string): Promise<Answer> =>
    served.ask("/api/exclusions", { method: "POST", headers: { origin, "content-type": "application/json" }, body });

  test.each([
    ["", "bad-body"],
    ["{", "bad-body"],
    ["null", "bad-body"],
    ["[]", "bad-body"],
    ['"a"', "bad-body"],
    ["{}", "bad-body"],
    ['{"run":"a"}', "bad-body"],
    ['{"run":"a","reason":""}', "bad-body"],
    ['{"run":"a","reason":"   "}', "bad-body"],
    ['{"run":"a","reason":7}', "bad-body"],
    ['{"run":["a"],"reason":"marker loose"}', "bad-body"],
    ['{"run":"a","reason":"marker loose","include":"yes"}', "bad-body"],
    ['{"run":"a","reason":"marker loose","other":1}', "bad-body"],
    [JSON.stringify({ run: "a", reason: "x".repeat(501) }), "bad-body"],
    ['{"run":"a","reason":"yes"}', "reason-refused"],
  ])("%s is 400 %s", async (body, code) => {
    expectFault(await post(body), 400, code);
  });

  test("a run that is not there is 404", async () => {
    expectFault(await post('{"run":"nobody","reason":"marker loose"}'), 404, "unknown-run");
  });

  test.each([270_000, 10_000_000])("%i bytes are 413", async (length) => {
    expectFault(await post(JSON.stringify({ run: "a", reason: "x".repeat(length) })), 413, "body-too-large");
  });

  test("none of it was written", async () => {
    expect((await served.ask("/api/exclusions")).json()).toEqual({ exclusions: [] });
    expect(served.service.state()).toMatchObject({ status: "ready", version: 1 });
  });
});

describe("pages", () => {
  test("the page is served at its address, with a strict policy", async () => {
    for (const path of ["/", "/index.html", "/?theme=dark"]) {
      const { status, text, headers } = await served.ask(path, { headers: { accept: "text/html" } });
      expect([path, status, text]).toEqual([path, 200, "<!doctype html><title>page</title>"]);
      const policy = String(headers["content-security-policy"]);
      expect(policy).toContain("script-src 'self'");
      expect(policy).toContain("default-src 'none'");
      expect(policy).not.toMatch(/unsafe|https?:|\*/);
      expect(headers["x-powered-by"]).toBeUndefined();
    }
    expect((await served.ask("/elsewhere", { headers: { accept: "text/html" } })).status).toBe(404);
  });

  test("what has a hash in its name may be kept, the page may not", async () => {
    expect((await served.ask("/assets/main-abc123.js")).headers["cache-control"]).toContain("immutable");
    expect((await served.ask("/")).headers["cache-control"]).toBe("no-cache");
  });

  test("where the pages are not built the page says how to build them", async () => {
    const other = await serveApp(createService("campaign.yaml", memoryWorld().effects), { clientFolder: "/nowhere" });
    const { status, text } = await other.ask("/", { headers: { accept: "text/html" } });
    expect(status).toBe(503);
    expect(text).toContain("npm run build");
    await other.close();
  });
});

describe("faults of the tool", () => {
  test("an error nobody foresaw is 500 without its stack, and is told on this side", async () => {
    const world = memoryWorld();
    const service = createService("campaign.yaml", world.effects);
    const seen: unknown[] = [];
    const broken = {
      ...service,
      shown: () => {
        throw new TypeError("x is not a function\n    at secret (/home/someone/file.ts:1:1)");
      },
    };
    const other = await serveApp(broken, { onFault: (error) => void seen.push(error) });
    const answer = await other.ask("/api/runs");
    expect(answer.status).toBe(500);
    expect(answer.json()).toEqual({
      error: {
        code: "internal",
        message: "a fault of the tool: TypeError: x is not a function",
        hint: expect.stringContaining("report"),
      },
    });
    expect(seen).toHaveLength(1);
    await other.close();
  });

  test("an answer that breaks its own schema is not sent", async () => {
    const { effects } = memoryWorld(shortManifest(["a.bag"]), { "a.bag": flights["run-1.bag"]! });
    const service = createService("campaign.yaml", {
      ...effects,
      judgeCampaign: async (...args) => {
        const { evaluation } = await judgeCampaign(...args);
        const runs = evaluation.runs.map((run) => ({ ...run, notes: 7 as unknown as string }));
        return { evaluation, json: evaluationJson({ ...evaluation, runs }) };
      },
    });
    const other = await serveApp(service);
    await service.start();
    expect(service.state().error?.code).toBe("evaluation-invalid");
    expectFault503(await other.ask("/api/evaluation"));
    await other.close();
  });

  test("none was met in the requests above", () => {
    expect(faults).toEqual([]);
  });
});

function expectFault503(answer: Answer): void {
  expectFault(answer, 503, "not-evaluated");
  expect(answer.headers["retry-after"]).toBe("1");
}
