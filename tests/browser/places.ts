/** Every kind of page of the sample campaign's dashboard: its address from # on, and how its window's title begins. */
export const places = {
  answer: { hash: "#/", title: "Answer" },
  "answer-range": { hash: "#/?metric=range", title: "Answer" },
  cell: { hash: "#/cell/orbit/effector/y/rms", title: "Orbit, effector along y" },
  "cell-exploratory": { hash: "#/cell/orbit/effector/y/sd", title: "Orbit, effector along y" },
  run: { hash: "#/run/flight-01/effector", title: "Run flight-01" },
  "run-unusable": { hash: "#/run/flight-05/vehicle", title: "Run flight-05" },
  "run-gaps": { hash: "#/run/flight-18/vehicle?from=20&to=30", title: "Run flight-18" },
  setup: { hash: "#/setup", title: "Set-up" },
  bench: { hash: "#/bench", title: "On the bench" },
  why: { hash: "#/why", title: "Why" },
  costs: { hash: "#/costs", title: "What it costs" },
  audit: { hash: "#/audit", title: "Audit" },
  plan: { hash: "#/plan", title: "Next flights" },
  synchronous: { hash: "#/synchronous/orbit/effector", title: "Arm-synchronous error, orbit" },
  compare: { hash: "#/compare/flight-01/flight-02/effector", title: "flight-01 and flight-02" },
} as const;

/** One page of each kind, for what takes long; the others are variants of these. */
export const kinds = Object.entries(places).filter(([name]) =>
  ["answer", "cell", "run", "synchronous", "setup", "bench", "why", "costs", "audit", "plan", "compare"].includes(name),
);
