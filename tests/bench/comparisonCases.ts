import { runValues } from "../../src/comparison/cellRuns.ts";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { permutationTest } from "../../src/comparison/permutationTest.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

/** The comparison's own speed, in this process: prints one JSON line per case, milliseconds. */
const { normal } = seededRandom(3);
const timed = (name: string, work: () => void): void => {
  const start = performance.now();
  work();
  console.log(JSON.stringify({ name, milliseconds: performance.now() - start }));
};

timed("permutations", () => {
  for (let cell = 0; cell < 24; cell++) {
    const runs = Array.from({ length: 20 }, (_, i) => ({ value: normal(), candidate: i % 2 === 1, block: null }));
    permutationTest(runValues(runs), "welch", { exactUpTo: 0, drawn: 20_000, seed: cell });
  }
});

/** 1 000 runs of four trajectories: 24 cells of the family, 84 exploratory ones beside them. */
const figures = (effect: number) => ({
  ...{ bias: 0, sd: 1e-3 * (5 + normal()), rms: 1e-3 * (5 + normal() + effect), mean_abs: 0, p95: 0, max_abs: 0 },
  ...{ range: 1e-3 * (9 + normal()), rms_delay_removed: null, per_cycle: [] },
});
const subject = (effect: number) => ({
  ...{ delay: null, x: figures(effect), y: figures(effect), z: figures(effect), norm: figures(effect) },
});
const runs = Array.from({ length: 1000 }, (_, i) => ({
  ...{ id: `run-${i}`, used: true, outcome: "completed", checks: [], synchronous: null, block: `day${(i >> 3) % 4}` },
  ...{ trajectory: `path${(i >> 1) % 4}`, configuration: i % 2 === 1 ? "weighted" : "bare" },
  tracking: {
    cycles: { vehicle: subject(-(i % 2)), effector: subject(-(i % 2)), arm: subject(-(i % 2)) },
    hold: null,
  },
}));
const campaign = {
  trajectories: Object.fromEntries([0, 1, 2, 3].map((k) => [`path${k}`, { shape: "circle" }])),
  ...{ baseline: "bare", candidate: "weighted", primary: "rms", signals: { effector_pose: {}, effector_command: {} } },
  smallestDifference: { vehicle: 0.0015, effector: 0.0015, arm: null },
  runs: runs.map(({ id }) => ({ id, exclude: null })),
};
timed("thousand", () =>
  compareCampaign(campaign as unknown as Campaign, runs as unknown as RunEvaluation[], defaultSettings),
);
