import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { AnswersRequest, QuestionsAnswer } from "../../src/contract/api/messages.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import { shortManifest } from "../pipeline/shortCampaign.ts";
import { type MemoryWorld, memoryWorld, runs, type Served, serveWorld, until } from "./support.ts";

/** The short campaign as a draft leaves it: two places open, one of them among others in a line. */
const finished = shortManifest(runs);
const line = /^smallest_difference: .*$/m.exec(finished)![0];
const tool = /tool_point: (\[.*?\])/.exec(finished)![1]!;
const draft = finished
  .replace(line, "smallest_difference: <LENGTH>     # the smallest change that would matter")
  .replace(tool, "<TOOL_POINT>");
const point = tool.slice(1, -1).split(", ");

describe("a manifest that leaves places open", () => {
  let world: MemoryWorld;
  let served: Served;
  beforeEach(async () => {
    world = memoryWorld(draft);
    served = await serveWorld(world);
  });
  afterEach(() => served.close());

  const asked = async (): Promise<QuestionsAnswer> => (await served.ask(apiPaths.questions)).json();
  const give = async (answers: AnswersRequest["answers"], stamp?: string) =>
    served.change("POST", apiPaths.questions, { stamp: stamp ?? (await asked()).stamp, answers });
  const length = { path: ["smallest_difference"], answer: "1 mm" };
  const tip = { path: ["frames", "tool_point"], answer: point };

  test("is served with its questions, and blind until a person opens it", async () => {
    expect(served.service.state()).toMatchObject({ status: "failed", blind: true, version: 0 });
    const { questions, manifest } = await asked();
    expect(manifest).toBe("campaign.yaml");
    expect(questions.map(({ path, kind }) => [path.join("."), kind])).toEqual([
      ["smallest_difference", "length"],
      ["frames.tool_point", "point"],
    ]);
    expect((await served.change("POST", apiPaths.opening, {})).json().error.code).toBe("not-evaluated");
    const { status, json } = await give([length, tip]);
    expect([status, json().questions]).toEqual([202, []]);
    expect(world.files.get("campaign.yaml")).toBe(
      draft.replace("<LENGTH>", "1 mm").replace("<TOOL_POINT>", `[${point.join(", ")}]`),
    );
    await until(served.service, (state) => state.version > 0 && state.status === "ready");
    expect((await served.ask(apiPaths.campaign)).json().campaign.blind).toBe(true);
    expect((await served.ask(apiPaths.cells)).json().error.code).toBe("blind");
    expect(world.files.has("looks.jsonl")).toBe(false);
    await served.change("POST", apiPaths.opening, {});
    await until(served.service, ({ blind }) => !blind);
    expect((await served.ask(apiPaths.cells)).status).toBe(200);
  });

  test("takes one answer and keeps the other question", async () => {
    expect((await give([length])).json().questions).toMatchObject([{ path: ["frames", "tool_point"] }]);
    expect(world.files.get("campaign.yaml")).toBe(draft.replace("<LENGTH>", "1 mm"));
  });

  test("refuses what the manifest cannot take, says why of each, and writes nothing", async () => {
    const { status, json } = await give([
      { path: ["smallest_difference"], answer: "1.5" },
      { path: ["frames", "tool_point"], answer: ["0 mm", "0 kg", "0 mm"] },
    ]);
    expect([status, json().error.code, json().error.place]).toEqual([400, "answer-refused", "smallest_difference"]);
    expect(json().error.message).toMatch(
      /smallest_difference: found the bare number 1\.5.*\nframes\.tool_point#2: found "0 kg"/,
    );
    expect(world.files.get("campaign.yaml")).toBe(draft);
  });

  test("is not written over where somebody edited it after the questions were shown", async () => {
    const { stamp } = await asked();
    const edited = draft.replace("title: ", "title: Edited, ");
    world.write("campaign.yaml", edited);
    const { status, json } = await give([length], stamp);
    expect([status, json().error.code]).toEqual([409, "manifest-changed"]);
    expect(json().error.hint).toContain("nothing was written");
    expect(world.files.get("campaign.yaml")).toBe(edited);
  });

  test("is not written over where it is edited while the answer is being checked", async () => {
    const { stamp } = await asked();
    const { disk } = world.effects;
    let reads = 0;
    const edited = `${draft}# by hand\n`;
    const slow: MemoryWorld = {
      ...world,
      effects: {
        ...world.effects,
        disk: {
          ...disk,
          readText: async (path) => {
            const text = await disk.readText(path);
            // an editor saves right after the answer's first look
            if (path === "campaign.yaml" && ++reads === 1) world.write("campaign.yaml", edited);
            return text;
          },
        },
      },
    };
    const { answerQuestions } = await import("../../src/pipeline/answerQuestions.ts");
    await expect(
      answerQuestions("campaign.yaml", { stamp, answers: [length] }, slow.effects.disk),
    ).rejects.toMatchObject({ code: "manifest-changed" });
    expect(world.files.get("campaign.yaml")).toBe(edited);
  });

  test("two pages that answer at once: the second is refused, nothing is lost", async () => {
    const { stamp } = await asked();
    const replies = await Promise.all([give([length], stamp), give([tip], stamp)]);
    expect(replies.map(({ status }) => status).sort()).toEqual([202, 409]);
    expect(world.files.get("campaign.yaml")!.match(/<[A-Z_]+>/g)).toHaveLength(1);
  });

  test("takes no answer to what is not open, none from another site, and no word that would break out of its place", async () => {
    expect((await give([{ path: ["title"], answer: "x" }])).json().error.code).toBe("unknown-question");
    for (const answer of ["1 mm\nbaseline: x", "", [], ["a", "\u0007"], 7, { a: 1 }]) {
      const { status } = await give([{ path: ["smallest_difference"], answer } as never]);
      expect([answer, status]).toEqual([answer, 400]);
    }
    const body = JSON.stringify({ stamp: (await asked()).stamp, answers: [length] });
    const foreign = { origin: "http://example.com", "content-type": "application/json" };
    expect((await served.ask(apiPaths.questions, { method: "POST", headers: foreign, body })).status).toBe(403);
    const form = { origin: "http://127.0.0.1", "content-type": "text/plain" };
    expect((await served.ask(apiPaths.questions, { method: "POST", headers: form, body })).status).toBe(403);
    const elsewhere = { host: "example.com", origin: "http://example.com", "content-type": "application/json" };
    expect((await served.ask(apiPaths.questions, { method: "POST", headers: elsewhere, body })).status).toBe(421);
    expect(world.files.get("campaign.yaml")).toBe(draft);
  });
});
