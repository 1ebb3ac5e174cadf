import { expect, test } from "vitest";
import { applyExclusions, parseExclusions } from "../../../src/contract/manifest/exclusions.ts";
import { ManifestError } from "../../../src/foundation/errors.ts";
import { example, placeOf, read } from "./support.ts";

const text = `exclusions:
  - { run: flight-01, reason: "marker loose", at: 2026-09-14T07:30:00Z }
  - { run: flight-02, include: true, reason: "the arm jammed after the last cycle" }
`;

test("exclusions are read with their reason, their time and whether they put a run back", () => {
  expect(parseExclusions(text, "exclusions.yaml")).toEqual([
    // date -u -d 2026-09-14T07:30:00Z +%s
    {
      run: "flight-01",
      include: false,
      reason: "marker loose",
      at: 1_789_371_000_000_000_000n,
      place: "exclusions.yaml:2:5",
    },
    {
      run: "flight-02",
      include: true,
      reason: "the arm jammed after the last cycle",
      at: null,
      place: "exclusions.yaml:3:5",
    },
  ]);
});

test("they are stronger than the manifest, and the campaign handed in is not changed", async () => {
  const campaign = await read(example);
  const changed = applyExclusions(campaign, parseExclusions(text, "exclusions.yaml"));
  expect(changed.runs.map(({ exclude }) => exclude)).toEqual(["marker loose", null]);
  // why it was put back is kept, for every output to say
  expect(changed.runs.map(({ putBack }) => putBack ?? null)).toEqual([null, "the arm jammed after the last cycle"]);
  expect(campaign.runs.map(({ exclude }) => exclude)).toEqual([null, "arm jammed in cycle 4"]);
  expect({ ...changed, runs: [] }).toEqual({ ...campaign, runs: [] });
});

test("an empty file and an empty list exclude nothing", async () => {
  const campaign = await read(example);
  for (const empty of ["", "exclusions: []\n", "exclusions:\n"]) {
    expect(applyExclusions(campaign, parseExclusions(empty, "e.yaml"))).toEqual(campaign);
  }
});

test.each([
  ["an unknown key", text.replace('reason: "marker', 'reson: "marker'), "reson", /unknown key "reson"/],
  [
    "no reason",
    text.replace(', reason: "marker loose"', ""),
    "{ run: flight-01",
    /reason: found nothing, expected the reason in words/,
  ],
  [
    "a switch for a reason",
    text.replace('"marker loose"', "true"),
    "true, at",
    /found "true", expected the reason in words/,
  ],
  [
    "a run named twice",
    text.replace("flight-02", "flight-01"),
    "{ run: flight-01, include",
    /run flight-01 a second time, expected it once \(first at e.yaml:2:5\)/,
  ],
  [
    "include that is no truth value",
    text.replace("include: true", "include: maybe"),
    "maybe",
    /found "maybe", expected whether the run is put back: true or false/,
  ],
  ["a text for the list", "exclusions: flight-01\n", "flight-01", /found "flight-01", expected a list of exclusions/],
])("%s is refused with its place", (_, faulty, at, message) => {
  expect(() => parseExclusions(faulty, "e.yaml")).toThrow(
    expect.objectContaining({
      code: "exclusions-invalid",
      place: placeOf(faulty, at, "e.yaml"),
      message: expect.stringMatching(message),
    }),
  );
});

test("an exclusion of a run that is not there is refused: a renamed run must not slip back", async () => {
  const campaign = await read(example);
  const stale = parseExclusions(text.replace("flight-01", "flihgt-01"), "e.yaml");
  const apply = (): unknown => applyExclusions(campaign, stale);
  expect(apply).toThrow(ManifestError);
  expect(apply).toThrow(
    expect.objectContaining({ code: "exclusion-unknown-run", place: "e.yaml:2:5", hint: "did you mean flight-01?" }),
  );
});
