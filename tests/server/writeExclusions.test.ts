import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { parse } from "yaml";
import { parseExclusions } from "../../src/contract/manifest/exclusions.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { type ExclusionChange, writeExclusions } from "../../src/pipeline/writeExclusions.ts";
import { shortManifest } from "../pipeline/shortCampaign.ts";
import { memoryWorld } from "./support.ts";

const at = new Date("2026-05-04T08:00:00Z");
const exclude = (run: string, reason = "marker loose"): ExclusionChange => ({
  run,
  decision: { include: false, reason, at },
});

function world(before: string | null) {
  const { files, effects } = memoryWorld(shortManifest(["a.bag", "b.bag", "01.bag"]), {});
  if (before !== null) files.set("exclusions.yaml", before);
  return {
    text: () => files.get("exclusions.yaml"),
    change: (change: ExclusionChange) => writeExclusions("campaign.yaml", change, effects.disk),
  };
}

describe("exclusions.yaml as the dashboard writes it", () => {
  test("the first word makes the file, with a heading for who opens it", async () => {
    const { text, change } = world(null);
    await change(exclude("a"));
    expect(text()).toMatch(/^# A person's word on single runs/);
    // another reader of YAML reads the same
    expect(parse(text()!)).toEqual({
      exclusions: [{ run: "a", reason: "marker loose", at: "2026-05-04T08:00:00.000Z" }],
    });
  });

  test("comments and other entries stay as a person wrote them", async () => {
    const hand = '# kept by hand\nexclusions:\n  # gusts\n  - { run: a, reason: "door: open #2" } # see log book\n';
    const { text, change } = world(hand);
    await change(exclude("b"));
    expect(text()).toContain(hand);
    await change({ run: "b", decision: null });
    expect(text()).toBe(hand);
  });

  test("a second word on the same run replaces the first, in its place", async () => {
    const { text, change } = world(null);
    for (const run of ["a", "b"]) await change(exclude(run));
    const now = await change({ run: "a", decision: { include: true, reason: "it was the other", at } });
    expect(now.map(({ run, include, reason }) => [run, include, reason])).toEqual([
      ["a", true, "it was the other"],
      ["b", false, "marker loose"],
    ]);
    expect(parseExclusions(text()!, "e.yaml")).toEqual(now.map((one) => ({ ...one, place: expect.any(String) })));
  });

  test("an alias cannot be edited in place: the file is written again and says the same", async () => {
    const { text, change } = world(
      "exclusions:\n  - &first { run: a, reason: gusts at the door }\n  - { <<: *first, run: b }\n",
    );
    const now = await change({ run: "a", decision: null });
    expect(now.map(({ run, reason }) => [run, reason])).toEqual([["b", "gusts at the door"]]);
    expect(parseExclusions(text()!, "e.yaml")).toHaveLength(1);
  });

  test("a run whose id looks like a number is found again", async () => {
    const { change } = world(null);
    await change(exclude("01"));
    expect(await change({ run: "01", decision: null })).toEqual([]);
  });

  test("whatever the reason is made of, it is read back as it was said", async () => {
    await fc.assert(
      fc.asyncProperty(fc.string({ minLength: 1, maxLength: 60, unit: "grapheme" }), async (said) => {
        const { change, text } = world("exclusions:\n  - { run: b, reason: stays }\n");
        try {
          const now = await change(exclude("a", said));
          // line ends are folded and blanks trimmed, as in every text of a manifest
          expect(now[1]!.reason.replace(/\s+/g, " ")).toBe(said.trim().replace(/\s+/g, " "));
          expect(now[0]!.reason).toBe("stays");
        } catch (error) {
          if (!(error instanceof CounterpoiseError)) throw error;
          // refused as a whole: nothing was written
          expect(text()).toBe("exclusions:\n  - { run: b, reason: stays }\n");
        }
      }),
      { seed: 20_262, numRuns: 300 },
    );
  });

  test("a run that is not there is refused with the nearest name, and nothing is written", async () => {
    const { text, change } = world(null);
    await expect(change(exclude("c1"))).rejects.toThrow(expect.objectContaining({ code: "unknown-run" }));
    await expect(change(exclude("0l"))).rejects.toThrow(expect.objectContaining({ hint: "did you mean 01?" }));
    expect(text()).toBeUndefined();
  });
});
