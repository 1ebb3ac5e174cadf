import { describe, expect, test } from "vitest";
import { changed, example, read } from "./support.ts";

const plain = {
  log: null,
  frame: "world",
  child: null,
  joint: null,
  fields: null,
  columns: null,
  units: null,
  markers: null,
  axes: null,
};
const logged = { ...plain, stamp: "header", between: null };

// written by hand from the specification: mm / 1000, g / 1000, period = 2 pi r / v
test("the specification's example becomes a campaign in SI with every default filled in", async () => {
  expect(await read(example)).toEqual({
    title: "Tank-wall swab arm, autumn trials",
    baseline: "bare",
    candidate: "weighted",
    sham: "ballast",
    smallestDifference: { vehicle: 0.0015, effector: 0.0015, arm: 0.0015 },
    primary: "rms",
    tolerance: null,
    judgeIn: null,
    axisNames: { x: null, y: null, z: null },
    accept: [],
    thresholds: {},
    configurations: {
      bare: { label: "Arm alone", addedMass: null, counterweights: [] },
      weighted: {
        label: "Counterweights fitted",
        addedMass: 0.54,
        counterweights: [
          { mass: 0.27, at: [-0.14, 0, 0.02] },
          { mass: 0.27, at: [-0.14, 0, -0.02] },
        ],
      },
      ballast: { label: "Same mass at the centre", addedMass: 0.54, counterweights: [] },
    },
    vehicle: { mass: 4.6, maxThrust: 92, rotors: 6, rotorDiameter: 0.33 },
    frames: {
      worldUp: "z",
      onboard: { translation: [0, 0, 0], rotation: [0, 0, 0, 1] },
      onboardDeclared: true,
      onboardByBlock: {},
      toolPoint: [0, 0, -0.045],
      toolPointDeclared: true,
      bodyPoint: [0, 0, 0],
      bodyPointDeclared: true,
      armBase: { translation: [0.06, 0, -0.12], rotation: [0, 0, 0, 1] },
      armBaseDeclared: true,
      uncertainty: { length: null, angle: null },
    },
    signals: {
      vehicle_pose: { topic: "/mocap/airframe", clock: "mocap", ...logged },
      effector_pose: { topic: "/mocap/tool", clock: "mocap", ...logged },
      vehicle_setpoint: { topic: "/onboard/hold_point", clock: "onboard", ...logged },
      effector_command: { topic: "/arm/goal", clock: "onboard", ...logged, frame: "arm_base" },
      vehicle_rate: { topic: "/imu", clock: "onboard", ...logged },
      vehicle_estimate: { topic: "/onboard/state", clock: "onboard", ...logged },
    },
    clocks: {
      reference: "onboard",
      others: { mocap: { kind: "same-motion", pair: ["vehicle_pose", "vehicle_rate"], search: 2, near: null } },
    },
    trajectories: {
      orbit: {
        shape: "circle",
        plane: "yz",
        radius: 0.06,
        speed: 0.25,
        // 0.48 pi s; one rounding of 2 pi and one of the product
        period: expect.closeTo(1.5079644737231006, 15),
        cycles: 14,
      },
      reach: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 12 },
      hold: { shape: "hold", duration: 60 },
      track: { shape: "logged", period: null },
    },
    staticCaptures: ["static.bag"],
    runs: [
      run("flight-01", { configuration: "bare", exclude: null }),
      run("flight-02", { configuration: "weighted", exclude: "arm jammed in cycle 4" }),
    ],
  });
});

function run(id: string, rest: object): object {
  return {
    id,
    logs: { "": [`${id}.bag`] },
    trajectory: "orbit",
    block: "day1",
    span: null,
    battery: null,
    takeoffMass: null,
    started: null,
    notes: null,
    outcome: "completed",
    ...rest,
  };
}

const smallest = `title: Least
baseline: a
candidate: b
configurations: { a: , b: }
signals:
  vehicle_pose: { topic: /p }
  vehicle_setpoint: { topic: /s }
trajectories: { h: { shape: hold, duration: 60 s } }
runs: [{ log: a.bag, configuration: a, trajectory: h }]
`;

test("what may be left out may be left out: one clock, no frames, no vehicle, no sham", async () => {
  const campaign = await read(smallest);
  expect(campaign.sham).toBeNull();
  expect(campaign.smallestDifference).toEqual({ vehicle: null, effector: null, arm: null });
  expect(campaign.primary).toBe("rms");
  expect(campaign.vehicle).toBeNull();
  expect(campaign.clocks).toEqual({ reference: null, others: {} });
  expect(campaign.signals.vehicle_pose?.clock).toBe(campaign.signals.vehicle_setpoint?.clock);
  expect(campaign.frames).toMatchObject({ worldUp: "z", onboardDeclared: false, armBaseDeclared: false });
  expect(campaign.configurations.a?.label).toBe("a");
  expect(campaign.staticCaptures).toEqual([]);
});

test("how far tool point and arm base may be off is declared with units, either alone, and never below 0", async () => {
  const declared = (text: string) => `${smallest}frames: { uncertainty: ${text} }\n`;
  const { frames } = await read(declared("{ length: 2 mm, angle: 0.5 deg }"));
  expect(frames.uncertainty.length).toBeCloseTo(0.002, 15);
  expect(frames.uncertainty.angle).toBeCloseTo(Math.PI / 360, 15);
  expect((await read(declared("{ angle: 1 deg }"))).frames.uncertainty.length).toBeNull();
  await expect(read(declared("{ length: -2 mm }"))).rejects.toThrow(/uncertainty/);
  await expect(read(declared("{ length: 2 }"))).rejects.toThrow(/uncertainty/);
  await expect(read(declared("{ lenght: 2 mm }"))).rejects.toThrow(/length/);
});

test("a circle of 100 mm radius at 0.5 m/s has a period of 1.2566 s: ten cycles last 12.57 s, at 2.5 m/s2", async () => {
  const circle = "{ shape: circle, plane: yz, radius: 100 mm, speed: 0.5 m/s, cycles: 10 }";
  const { trajectories } = await read(smallest.replace("{ h: { shape: hold, duration: 60 s } }", `{ h: ${circle} }`));
  const found = trajectories.h as Extract<(typeof trajectories)[string], { shape: "circle" }>;
  // geometry: 2 pi r / v, and v^2 / r
  expect(found.period).toBeCloseTo(1.2566, 4);
  expect(found.cycles * found.period).toBeCloseTo(12.57, 2);
  expect(found.speed ** 2 / found.radius).toBeCloseTo(2.5, 12);
});

test("one clock named by all signals needs no word on clocks, and one is allowed", async () => {
  const named = smallest
    .replace("topic: /p", "topic: /p, clock: onboard")
    .replace("topic: /s", "topic: /s, clock: onboard");
  for (const text of [named, `${named}clocks: { reference: onboard }\n`]) {
    const campaign = await read(text);
    expect(campaign.signals.vehicle_setpoint?.clock).toBe("onboard");
    expect(campaign.clocks).toEqual({ reference: null, others: {} });
  }
});

test("names are texts as written: 1.10 is not 1.1, and 07 is not 7", async () => {
  const runs =
    "runs: [{ log: a.bag, id: 1.1, block: 07, configuration: a, trajectory: h }, { log: b.bag, id: 1.10, configuration: a, trajectory: h }]\n";
  const campaign = await read(smallest.replace(/runs: .*\n/, runs));
  expect(campaign.runs.map(({ id }) => id)).toEqual(["1.1", "1.10"]);
  expect(campaign.runs[0]?.block).toBe("07");
});

test("a byte order mark, CRLF line ends, anchors and merges change nothing", async () => {
  const plainText = await read(smallest);
  expect(await read(`\uFEFF${smallest.replaceAll("\n", "\r\n")}`)).toEqual(plainText);
  const merged = smallest
    .replace("{ topic: /p }", "&p { topic: /p }")
    .replace("{ topic: /s }", "\n    <<: *p\n    topic: /s");
  expect(await read(merged)).toEqual(plainText);
});

describe("the smallest difference per subject", () => {
  test("names the subjects it speaks of and leaves the others open", async () => {
    const text = changed(["smallest_difference: 1.5 mm", "smallest_difference: { vehicle: 2 mm, effector: 1 mm }"]);
    expect((await read(text)).smallestDifference).toEqual({ vehicle: 0.002, effector: 0.001, arm: null });
  });
});

describe("frames", () => {
  // 90 deg of yaw: x y z w = 0 0 sin45 cos45; roll 90 after yaw 90 (qz qx, multiplied by hand): (1 1 1 1)/2
  const half = Math.SQRT1_2;
  const cases: [string, readonly number[]][] = [
    ["0 deg, 0 deg, 90 deg", [0, 0, half, half]],
    ["90 deg, 0 deg, 0 deg", [half, 0, 0, half]],
    ["0 deg, 90 deg, 0 deg", [0, half, 0, half]],
    ["90 deg, 0 deg, 90 deg", [0.5, 0.5, 0.5, 0.5]],
    // qz(90) qy(90), multiplied by hand: w = c c, x = -s s, y = c s, z = s c
    ["0 deg, 90 deg, 90 deg", [-0.5, 0.5, 0.5, 0.5]],
  ];
  test.each(cases)("rotation [%s] is yaw, then pitch, then roll about the turned axes", async (angles, expected) => {
    const text = changed(["arm_base: [60 mm, 0 mm, -120 mm]", `arm_base: { rotation: [${angles}] }`]);
    const { armBase } = (await read(text)).frames;
    expect(armBase.translation).toEqual([0, 0, 0]);
    // two products of sines and cosines: some ulps
    for (const [index, part] of expected.entries()) expect(armBase.rotation[index]).toBeCloseTo(part, 14);
  });

  const line = "onboard: { translation: [0 mm, 0 mm, 0 mm], rotation: [0 deg, 0 deg, 0 deg] }";
  test.each(["day1: { translation: [5 mm, 0 mm, 0 mm] }", "blocks: { day1: { translation: [5 mm, 0 mm, 0 mm] } }"])(
    "the onboard world may stand per block: %s",
    async (entry) => {
      const { frames } = await read(changed([line, `onboard: { ${entry} }`]));
      expect(frames.onboardDeclared).toBe(false);
      expect(frames.onboardByBlock).toEqual({ day1: { translation: [0.005, 0, 0], rotation: [0, 0, 0, 1] } });
    },
  );

  test("a general transform may stand beside those of blocks, and y may point up", async () => {
    const both = "onboard: { translation: [1 mm, 0 mm, 0 mm], blocks: { day1: { translation: [5 mm, 0 mm, 0 mm] } } }";
    const { frames } = await read(changed([line, both], ["world: { up: z }", "world: { up: y }"]));
    expect(frames.onboard.translation).toEqual([0.001, 0, 0]);
    expect(frames.onboardByBlock.day1?.translation).toEqual([0.005, 0, 0]);
    expect(frames.worldUp).toBe("y");
  });
});

describe("clocks", () => {
  const rule = "mocap: { same_motion: [vehicle_pose, vehicle_rate], search: 2 s }";
  test("a known offset keeps its sign", async () => {
    const { clocks } = await read(changed([rule, "mocap: { offset: -137 ms }"]));
    expect(clocks.others.mocap).toEqual({ kind: "offset", offset: -0.137 });
  });
  test("the pair is put in order by the signals' clocks, and a search that is not declared is none", async () => {
    const { clocks } = await read(
      changed([rule, "mocap: { same_motion: [vehicle_estimate, vehicle_pose], near: 1.5 s }"]),
    );
    const expected = { kind: "same-motion", pair: ["vehicle_pose", "vehicle_estimate"], search: null, near: 1.5 };
    expect(clocks.others.mocap).toEqual(expected);
  });
});

describe("trajectories", () => {
  test("speed follows from the period, and a plane may be written either way round", async () => {
    const { trajectories } = await read(
      changed(["plane: yz, radius: 60 mm, speed: 0.25 m/s", "plane: zy, radius: 60 mm, period: 2 s"]),
    );
    // 2 pi 0.06 / 2 = 0.06 pi
    expect(trajectories.orbit).toMatchObject({ plane: "yz", period: 2, speed: expect.closeTo(0.06 * Math.PI, 15) });
  });
  test("a logged trajectory may have a period", async () => {
    const { trajectories } = await read(changed(["{ shape: logged }", "{ shape: logged, period: 12 s }"]));
    expect(trajectories.track).toEqual({ shape: "logged", period: 12 });
  });
});

describe("runs", () => {
  const second = / {2}- \{ log: flight-02.*\n/;
  const withRuns = (...lines: string[]): string =>
    example.replace(second, lines.map((line) => `  - ${line}\n`).join(""));
  const rest = "configuration: bare, trajectory: orbit, block: day1";

  test("a split log, a span, an outcome, a mass and a start are read", async () => {
    const started = "2026-09-14T09:30:00.000000001+02:00";
    const text = withRuns(
      `{ log: [a/x_0.bag, a/x_1.bag], ${rest}, span: [30 s, 95 s], outcome: aborted, takeoff_mass: 5140 g, started: ${started}, battery: 3, notes: gusty }`,
    );
    expect((await read(text)).runs[1]).toMatchObject({
      id: "x_0",
      logs: { "": ["a/x_0.bag", "a/x_1.bag"] },
      span: [30, 95],
      outcome: "aborted",
      takeoffMass: 5.14,
      // date -u -d 2026-09-14T07:30:00Z +%s = 1789371000
      started: 1_789_371_000_000_000_001n,
      battery: "3",
      notes: "gusty",
      exclude: null,
    });
  });

  test("several runs in one log get ids of their own, and ids given by hand are left alone", async () => {
    const text = withRuns(
      `{ log: day/all.bag, ${rest}, span: [0 s, 30 s] }`,
      `{ log: day/all.bag, ${rest}, span: [30 s, 60 s] }`,
      `{ log: day/all.bag, ${rest}, span: 60 s..90 s }`,
      `{ log: other.bag, id: all-2, ${rest} }`,
    );
    const ids = (await read(text)).runs.map(({ id }) => id);
    expect(ids).toEqual(["flight-01", "all", "all-3", "all-4", "all-2"]);
  });

  test("spans of several logs are read by name; a log without one is that of several flights", async () => {
    const text = example
      .slice(0, example.indexOf("runs:\n"))
      .replaceAll(/\{ topic: (\S+) +clock: (\w+)/g, "{ topic: $1 clock: $2, log: $2");
    const runs = [
      ", span: { mocap: [0 s, 30 s] }",
      ", span: { mocap: 40 s..1 min }",
      ", span: { mocap: [61 s, 90 s] }",
    ];
    const lines = runs.map((span) => `  - { logs: { mocap: m.csv, onboard: o.ulg }, ${rest}${span} }\n`).join("");
    expect((await read(`${text}runs:\n${lines}`)).runs.map(({ span }) => span)).toEqual([
      { mocap: [0, 30] },
      { mocap: [40, 60] },
      { mocap: [61, 90] },
    ]);
  });

  test("the same log filed twice without a span is no fault of the manifest", async () => {
    const { runs } = await read(withRuns(`{ log: flight-01.bag, ${rest} }`));
    expect(runs.map(({ id }) => id)).toEqual(["flight-01", "flight-01-2"]);
  });

  test("logs by name go with signals that name them", async () => {
    const signals: [string, string][] = ["vehicle_pose:    ", "effector_pose:   "].map((name) => [
      `${name} { `,
      `${name} { log: mocap, `,
    ]);
    const onboard = ["vehicle_setpoint:", "effector_command:", "vehicle_rate:    ", "vehicle_estimate:"].map(
      (name): [string, string] => [`${name} { `, `${name} { log: onboard, `],
    );
    const text = changed(...signals, ...onboard).replaceAll(
      /log: (flight-0\d).bag/g,
      "logs: { mocap: $1.csv, onboard: [$1.ulg] }",
    );
    const { runs } = await read(text);
    expect(runs[0]).toMatchObject({ id: "flight-01", logs: { mocap: ["flight-01.csv"], onboard: ["flight-01.ulg"] } });
  });

  test("ten thousand runs are read", async () => {
    const lines = Array.from({ length: 10_000 }, (_, index) => `  - { log: f${index}.bag, ${rest} }\n`);
    const text = `${example.slice(0, example.indexOf("runs:\n"))}runs:\n${lines.join("")}`;
    expect((await read(text)).runs).toHaveLength(10_000);
  });
});

test("a table signal names its columns and units", async () => {
  const columns =
    "columns: { t: time, x: px, y: py, z: pz, qx: a, qy: b, qz: c, qw: d }, units: { t: ns, position: mm }";
  const { signals } = await read(changed(["topic: /mocap/airframe", columns]));
  expect(signals.vehicle_pose).toMatchObject({
    topic: null,
    columns: { t: "time", x: "px", y: "py", z: "pz", qx: "a", qy: "b", qz: "c", qw: "d" },
    units: { t: "ns", position: "mm" },
  });
});

test("fields, child, joint, stamp and between are kept as written", async () => {
  const { signals } = await read(
    changed(
      ["topic: /mocap/tool", "topic: /tf, child: tool, stamp: log"],
      ["topic: /onboard/hold_point", "topic: /hold, between: hold, fields: { x: pose.x, y: pose.y, z: pose.z }"],
    ),
  );
  expect(signals.effector_pose).toMatchObject({ topic: "/tf", child: "tool", stamp: "log" });
  expect(signals.vehicle_setpoint).toMatchObject({
    between: "hold",
    fields: { x: "pose.x", y: "pose.y", z: "pose.z" },
  });
});
