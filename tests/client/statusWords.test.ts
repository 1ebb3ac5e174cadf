import { describe, expect, test } from "vitest";
import { progressText, statusWords } from "../../client/app/statusWords.ts";
import type { ServiceState } from "../../src/contract/api/messages.ts";

const ready: ServiceState = {
  status: "ready",
  blind: false,
  progress: null,
  error: null,
  version: 3,
  evaluated_at: "2025-10-16T12:00:00.000Z",
  stale: false,
  changed: [],
  looks: 1,
};
const calm = { connected: true, shown: true };

describe("the status line", () => {
  test("is silent while the page shows what is on disk", () => {
    expect(statusWords(ready, calm)).toBeNull();
  });

  test("says how far an evaluation is and which run it reads", () => {
    const state: ServiceState = {
      ...ready,
      status: "evaluating",
      version: 0,
      progress: { done: 6, total: 20, run: "flight-07", stage: "measuring" },
    };
    expect(progressText(state)).toBe("evaluating 7 of 20: flight-07");
    expect(progressText({ ...state, progress: { done: 20, total: 20, run: "", stage: "hashing" } })).toBe(
      "evaluating 20 of 20: check sums of the files",
    );
  });

  test("names the files that changed, and says that the last good evaluation stays", () => {
    const state: ServiceState = { ...ready, status: "evaluating", stale: true, changed: ["flight-03.bag"] };
    expect(statusWords(state, calm)?.text).toBe(
      "flight-03.bag changed on disk: evaluating again; the last good evaluation is shown.",
    );
    const many = { ...state, changed: ["a.bag", "b.bag", "c.bag", "d.bag", "e.bag"] };
    expect(statusWords(many, calm)?.text).toMatch(/^a\.bag, b\.bag, c\.bag and 2 other files changed on disk/);
    expect(statusWords({ ...state, status: "ready" }, calm)?.kind).toBe("stale");
  });

  test("tells a failure with where, what to do and its code", () => {
    const state: ServiceState = {
      ...ready,
      status: "failed",
      error: {
        code: "unknown-key",
        message: "found the key basline",
        place: "campaign.yaml:3",
        hint: "did you mean baseline?",
      },
    };
    expect(statusWords(state, calm)).toEqual({
      kind: "failed",
      text: "The evaluation failed: found the key basline; the last good evaluation is shown.",
      details: ["where: campaign.yaml:3", "what to do: did you mean baseline?", "code: unknown-key"],
    });
    expect(statusWords(state, { connected: true, shown: false })?.text).not.toMatch(/last good/);
  });

  test("of a check says nothing of an evaluation", () => {
    const blind: ServiceState = {
      ...ready,
      blind: true,
      status: "evaluating",
      stale: true,
      changed: ["flight-03.bag"],
    };
    const states = [
      blind,
      { ...blind, version: 0, progress: { done: 6, total: 20, run: "flight-07", stage: "measuring" } },
      { ...blind, status: "ready" as const },
      { ...blind, status: "failed" as const },
    ];
    for (const state of states) {
      const said = `${statusWords(state, calm)?.text} ${progressText(state)}`;
      expect(said).not.toMatch(/evaluat/i);
      expect(said).toContain("check");
    }
  });

  test("says that the service is gone before anything else", () => {
    expect(statusWords(ready, { connected: false, shown: true })?.kind).toBe("lost");
  });
});
