import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, expect, test } from "vitest";
import { journeyThread } from "../../server/journeyThread.ts";

const folder = mkdtempSync(join(tmpdir(), "counterpoise-journey-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A thread that answers as the program says. */
const threadOf = (name: string, program: string) => {
  const file = join(folder, `${name}.mjs`);
  writeFileSync(
    file,
    `import { parentPort } from "node:worker_threads"; let asked = 0; const tell = (news) => parentPort.postMessage(news);
     parentPort.on("message", (question) => { asked++; ${program} });`,
  );
  return journeyThread(pathToFileURL(file));
};

test("progress and result come back, and the same thread is asked again", async () => {
  const { judgeCampaign, checkCampaign, end } = threadOf(
    "good",
    'tell({ progress: { done: asked, total: 2, run: "a", stage: "measuring" } }); tell({ result: { ...question, asked } });',
  );
  const progress: number[] = [];
  const options = { onProgress: ({ done }: { done: number }) => void progress.push(done) };
  expect(await judgeCampaign!("a.yaml", options)).toMatchObject({ kind: "judge", manifestPath: "a.yaml", asked: 1 });
  expect(await checkCampaign!("b.yaml", options)).toMatchObject({ kind: "check", manifestPath: "b.yaml", asked: 2 });
  expect(progress).toEqual([1, 2]);
  end!();
});

test("a fault keeps its code, its place and its hint; what is no fault of the input keeps its trace", async () => {
  const { judgeCampaign, checkCampaign, end } = threadOf(
    "faulty",
    `if (question.kind === "check") tell({ fault: { code: "manifest-missing", message: "found none", place: "b.yaml", hint: "make one" } });
     else tell({ broken: { message: "x is undefined", stack: "at the place" } });`,
  );
  const fault = { code: "manifest-missing", message: "found none", place: "b.yaml", hint: "make one" };
  await expect(checkCampaign!("b.yaml")).rejects.toMatchObject(fault);
  await expect(judgeCampaign!("a.yaml", {})).rejects.toMatchObject({
    message: "x is undefined",
    stack: "at the place",
  });
  end!();
});

test("a thread that ends of itself fails its journey, and the next journey has another", async () => {
  const { judgeCampaign, end } = threadOf(
    "dying",
    'if (question.manifestPath === "dies") process.exit(3); tell({ result: asked });',
  );
  await expect(judgeCampaign!("dies", {})).rejects.toThrow("the thread that evaluates ended with code 3");
  expect(await judgeCampaign!("lives", {})).toBe(1);
  end!();
});

test("a service that is stopped ends the journey that is under way, and begins no other", async () => {
  const { judgeCampaign, end } = threadOf("endless", "");
  const under = judgeCampaign!("a.yaml", {});
  end!();
  await expect(under).rejects.toMatchObject({ name: "StoppedError" });
  await expect(judgeCampaign!("b.yaml", {})).rejects.toMatchObject({ name: "StoppedError" });
});

test("run from its sources there is no such thread", () => {
  expect(journeyThread()).toEqual({});
});
