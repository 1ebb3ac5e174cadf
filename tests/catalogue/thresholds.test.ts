import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { labThresholdNames, labThresholds, thresholdText } from "../../src/catalogue/thresholds.ts";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";
import { defaultSettings, settingsFor } from "../../src/contract/settings.ts";

const manual = readFileSync(join(import.meta.dirname, "../../client/manual/manifest.md"), "utf8");

test("the manual's table of thresholds is the catalogue's, with the values that are usual", () => {
  const rows = labThresholdNames.map(
    (name) => `| \`${name}\` | ${labThresholds[name].what} | ${thresholdText(name, defaultSettings[name])} |`,
  );
  const [, table] = /\| threshold \| what it is \| usually \|\n\|---\|---\|---\|\n((?:\|.*\n)+)/.exec(manual)!;
  expect(table!.trim().split("\n")).toEqual(rows);
});

const manifest = (thresholds: string) => `
title: Tank wall
baseline: bare
candidate: weighted
configurations: { bare: { label: Bare }, weighted: { label: Weighted } }
frames: { world: { up: z } }
signals:
  vehicle_pose: { topic: /mocap/airframe }
  vehicle_setpoint: { topic: /onboard/setpoint }
trajectories: { still: { shape: hold, duration: 20 s } }
runs:
  - { log: a.bag, configuration: bare, trajectory: still }
  - { log: b.bag, configuration: weighted, trajectory: still }
${thresholds}
`;
const read = (thresholds: string) =>
  readCampaign(manifest(thresholds), { file: "campaign.yaml", readText: () => Promise.reject(new Error("no table")) });

test("thresholds are read with their units, and stand for the usual ones", async () => {
  const campaign = await read(
    "thresholds: { valid_fraction: 80 %, headings_apart: 10 deg, sag_cell_voltage: 3200 mV }",
  );
  // 10 degrees in radians
  expect(campaign.thresholds).toEqual({
    valid_fraction: 0.8,
    headings_apart: expect.closeTo(0.17453292519943295, 15),
    sag_cell_voltage: 3.2,
  });
  const settings = settingsFor(campaign);
  expect(settings.valid_fraction).toBe(0.8);
  expect(settings.jump_speed).toBe(defaultSettings.jump_speed);
  expect((await read("")).thresholds).toEqual({});
});

test.each([
  ["thresholds: { family_error: 10 % }", /unknown key "family_error", expected valid_fraction,/],
  ["thresholds: { jump_speed: 6 }", /bare number 6, expected a speed/],
  ["thresholds: { valid_fraction: 0.8 }", /expected share of the scored window .* such as 90 %/],
  ["thresholds: { hold_settle: -2 s }", /-2 s/],
  ["thresholds: { plan_flights_per_pack: 1.5 }", /a whole number/],
])("refuses %s", async (thresholds, message) => {
  await expect(read(thresholds)).rejects.toThrow(message);
});
