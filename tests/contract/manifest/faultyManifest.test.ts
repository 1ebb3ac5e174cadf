import { describe, expect, test } from "vitest";
import { changed, example, placeOf, read, refusal } from "./support.ts";

interface Fault {
  readonly name: string;
  readonly from: string;
  readonly to: string;
  /** where the problem stands: the first occurrence of this piece in the changed text */
  readonly at: string;
  readonly message: RegExp;
  readonly hint?: RegExp;
}

const orbit = "radius: 60 mm, speed: 0.25 m/s, cycles: 14";
const second =
  '{ log: flight-02.bag, configuration: weighted, trajectory: orbit, block: day1, exclude: "arm jammed in cycle 4" }';
const base = "{ log: flight-02.bag, configuration: weighted, trajectory: orbit, block: day1";
const pair = "same_motion: [vehicle_pose, vehicle_rate]";
const onboard = "onboard: { translation: [0 mm, 0 mm, 0 mm], rotation: [0 deg, 0 deg, 0 deg] }";

const faults: readonly Fault[] = [
  // names at the top
  {
    name: "an unknown key at the top",
    from: "title:",
    to: "wind: 3\ntitle:",
    at: "wind",
    message: /unknown key "wind", expected title, baseline/,
    hint: /leave it out/,
  },
  {
    name: "a baseline that is not declared",
    from: "baseline: bare",
    to: "baseline: bear",
    at: "bear",
    message: /baseline: found "bear", expected a declared configuration: bare, weighted or ballast/,
    hint: /did you mean bare\?/,
  },
  {
    name: "a candidate that is the baseline",
    from: "candidate: weighted",
    to: "candidate: bare",
    at: "bare\nsham",
    message: /found "bare", which is the baseline as well/,
    hint: /itself/,
  },
  {
    name: "a sham that is the candidate",
    from: "sham: ballast ",
    to: "sham: weighted ",
    at: "weighted  ",
    message: /found "weighted", which is the candidate as well/,
  },
  {
    name: "an unknown primary metric",
    from: "primary: rms",
    to: "primary: rns",
    at: "rns",
    message:
      /found "rns", expected the measure of the verdicts: rms, range, sd, synchronous, contour, within, r95 or tilt/,
    hint: /did you mean rms\?/,
  },
  {
    name: "a smallest difference of zero",
    from: "1.5 mm",
    to: "0 mm",
    at: "0 mm",
    message: /found "0 mm", expected a length such as 60 mm, more than zero/,
  },
  {
    name: "an unknown subject of the smallest difference",
    from: "smallest_difference: 1.5 mm",
    to: "smallest_difference: { vehicel: 1 mm }",
    at: "vehicel",
    message: /unknown key "vehicel", expected vehicle, effector or arm/,
    hint: /did you mean vehicle\?/,
  },
  {
    name: "an empty title",
    from: "title: Tank-wall swab arm, autumn trials",
    to: 'title: ""',
    at: '""',
    message: /title: found "", expected the campaign's title/,
  },
  // quantities
  {
    name: "a bare number for a length",
    from: "radius: 60 mm",
    to: "radius: 60",
    at: "60, speed",
    message: /trajectories\.orbit\.radius: found the bare number 60, expected a length such as 60 mm/,
    hint: /60 mm/,
  },
  {
    name: "a unit of the wrong dimension",
    from: "radius: 60 mm",
    to: "radius: 60 ms",
    at: "60 ms",
    message: /found "60 ms", which is a time, expected a length such as 60 mm/,
    hint: /mm, m, cm/,
  },
  {
    name: "an unknown unit",
    from: "1.9 s",
    to: "1.9 sss",
    at: "1.9 sss",
    message: /unknown unit "sss" in "1.9 sss", expected a time such as 2 s/,
  },
  {
    name: "a negative mass",
    from: "4.6 kg",
    to: "-4.6 kg",
    at: "-4.6",
    message: /found "-4.6 kg", expected a mass such as 540 g, more than zero/,
    hint: /without a sign/,
  },
  {
    name: "a negative radius",
    from: "radius: 60 mm",
    to: "radius: -60 mm",
    at: "-60",
    message: /more than zero/,
    hint: /without a sign/,
  },
  {
    name: "a point of two",
    from: "at: [-140 mm, 0 mm, 20 mm]",
    to: "at: [-140 mm, 0 mm]",
    at: "[-140 mm, 0 mm]",
    message: /counterweights#1\.at.*found nothing, expected a length/,
  },
  {
    name: "a point of four",
    from: "at: [-140 mm, 0 mm, 20 mm]",
    to: "at: [-140 mm, 0 mm, 1 mm, 2 mm]",
    at: "[-140 mm, 0 mm, 1",
    message: /found a list of 4 items, expected a point of three lengths/,
  },
  {
    name: "a count with a unit",
    from: "cycles: 14",
    to: "cycles: 14 s",
    at: "14 s",
    message: /found "14 s", expected the number of cycles, a whole number from 1 to 100000/,
    hint: /no unit/,
  },
  {
    name: "a count of zero",
    from: "rotors: 6",
    to: "rotors: 0",
    at: "0, rotor_d",
    message: /found "0", expected the number of rotors, a whole number from 1/,
  },
  // trajectories
  {
    name: "an unknown shape",
    from: "shape: circle",
    to: "shape: cirkle",
    at: "cirkle",
    message: /found "cirkle", expected a shape: circle, line, hold or logged/,
    hint: /did you mean circle\?/,
  },
  {
    name: "an unknown plane",
    from: "plane: yz",
    to: "plane: yy",
    at: "yy",
    message: /found "yy", expected the plane of the circle: xy, yz or xz/,
  },
  {
    name: "a circle with neither speed nor period",
    from: orbit,
    to: "radius: 60 mm, cycles: 14",
    at: "{ shape: circle",
    message: /neither speed nor period, expected one of them/,
  },
  {
    name: "a speed and a period that contradict each other",
    from: orbit,
    to: `${orbit}, period: 9 s`,
    at: "9 s }",
    message: /a speed of 0.25 m\/s and a period of 9 s, expected a period of 1.508 s/,
  },
  {
    name: "a key of another shape",
    from: "shape: hold, duration: 60 s",
    to: "shape: hold, duration: 60 s, stroke: 3 mm",
    at: "stroke: 3",
    message: /unknown key "stroke", expected shape or duration/,
  },
  {
    name: "a text for a trajectory",
    from: "{ shape: logged }",
    to: "logged",
    at: "logged\n",
    message: /trajectories\.track: found a text, expected a trajectory: a mapping with a shape/,
  },
  // signals
  {
    name: "an unknown signal",
    from: "vehicle_rate:  ",
    to: "vehicle_rates: ",
    at: "vehicle_rates",
    message: /unknown key "vehicle_rates", expected vehicle_pose/,
    hint: /did you mean vehicle_rate\?/,
  },
  {
    name: "no vehicle pose",
    from: "  vehicle_pose:     { topic: /mocap/airframe, clock: mocap }\n",
    to: "",
    at: "effector_pose:",
    message: /signals: found no vehicle_pose, expected it/,
  },
  {
    name: "an effector command without a frame",
    from: ", frame: arm_base",
    to: "",
    at: "{ topic: /arm/goal",
    message: /found no frame, expected frame: world, vehicle or arm_base/,
    hint: /in which frame/,
  },
  {
    name: "a frame for another signal",
    from: "/imu, clock: onboard",
    to: "/imu, clock: onboard, frame: vehicle",
    at: "vehicle }\n  vehicle_est",
    message: /found frame "vehicle", expected it only for effector_command/,
  },
  {
    name: "topic and columns at once",
    from: "topic: /imu",
    to: "topic: /imu, columns: { t: a, wx: b, wy: c, wz: d }",
    at: "{ topic: /imu",
    message: /both topic and columns, expected one of them/,
  },
  {
    name: "neither topic nor columns",
    from: "topic: /imu, ",
    to: "",
    at: "{ clock: onboard }",
    message: /neither topic nor columns, expected one of them/,
  },
  {
    name: "an unknown column",
    from: "topic: /imu",
    to: "columns: { t: a, wx: b, wy: c, vz: d }",
    at: "vz",
    message: /unknown column "vz", expected t, wx, wy or wz/,
    hint: /did you mean wz\?/,
  },
  {
    name: "a column that is lacking",
    from: "topic: /imu",
    to: "columns: { t: a, wx: b, wy: c }",
    at: "{ t: a",
    message: /no column for wz, expected at least t, wx, wy, wz/,
  },
  {
    name: "half a quaternion",
    from: "topic: /mocap/tool",
    to: "topic: /a, fields: { qx: a, qy: b }",
    at: "{ qx",
    message: /no column for qz, qw/,
  },
  {
    name: "a field beside columns",
    from: "topic: /imu",
    to: "child: b, columns: { t: a, wx: b, wy: c, wz: d }",
    at: "b, columns",
    message: /found child without topic/,
  },
  {
    name: "a unit of the wrong kind for a group",
    from: "topic: /mocap/tool",
    to: "topic: /a, units: { position: ms }",
    at: "ms }",
    message: /found "ms", the unit of something else, expected a unit such as m or mm/,
  },
  {
    name: "an unknown unit for a group",
    from: "topic: /mocap/tool",
    to: "topic: /a, units: { position: counts }",
    at: "counts }",
    message: /found "counts", an unknown unit, expected a unit such as m or mm/,
  },
  {
    name: "an unknown stamp",
    from: "topic: /imu",
    to: "topic: /imu, stamp: heador",
    at: "heador",
    message: /found "heador", expected which stamp to use: header or log/,
    hint: /did you mean header\?/,
  },
  // clocks
  {
    name: "several clocks and no word of them",
    from: `clocks:\n  reference: onboard\n  mocap: { ${pair}, search: 2 s }\n`,
    to: "",
    at: "vehicle_pose:     {",
    message: /the clocks mocap and onboard in signals but no clocks/,
    hint: /same_motion/,
  },
  {
    name: "no reference clock",
    from: "  reference: onboard\n",
    to: "",
    at: "mocap: { same_motion",
    message: /clocks\.reference: found nothing, expected the name of the reference clock/,
  },
  {
    name: "a reference that no signal uses",
    from: "reference: onboard",
    to: "reference: onbord",
    at: "onbord",
    message: /found "onbord", expected the clock of a signal: mocap or onboard/,
    hint: /did you mean onboard\?/,
  },
  {
    name: "a clock without a rule",
    from: "topic: /onboard/state, clock: onboard",
    to: "topic: /onboard/state, clock: third",
    at: "reference: onboard",
    message: /found no rule for the clock third/,
  },
  {
    name: "a signal without a clock among several",
    from: "topic: /onboard/state, clock: onboard",
    to: "topic: /onboard/state",
    at: "{ topic: /onboard/state",
    message: /signals\.vehicle_estimate: found no clock, expected it: other signals name mocap, onboard/,
  },
  {
    name: "a setpoint taken for a sight of the motion",
    from: pair,
    to: "same_motion: [vehicle_pose, vehicle_setpoint]",
    at: "vehicle_setpoint], search",
    message: /found vehicle_setpoint, expected a sight of the vehicle's motion/,
    hint: /response delay, never a clock offset/,
  },
  {
    name: "a command taken for a sight of the motion",
    from: pair,
    to: "same_motion: [effector_command, vehicle_rate]",
    at: "effector_command, vehicle_rate",
    message: /found effector_command, expected a sight/,
    hint: /response delay/,
  },
  {
    name: "an effector pose taken for a sight of the vehicle's motion",
    from: pair,
    to: "same_motion: [effector_pose, vehicle_rate]",
    at: "effector_pose, vehicle_rate",
    message: /found effector_pose, expected a sight/,
  },
  {
    name: "a pair on one clock",
    from: pair,
    to: "same_motion: [vehicle_estimate, vehicle_rate]",
    at: "[vehicle_estimate",
    message: /vehicle_estimate on onboard and vehicle_rate on onboard, expected one on mocap, the other on onboard/,
  },
  {
    name: "a pair of the same signal",
    from: pair,
    to: "same_motion: [vehicle_pose, vehicle_pose]",
    at: "[vehicle_pose, v",
    message: /the same signal twice, expected two different signals/,
  },
  {
    name: "a pair of three",
    from: pair,
    to: "same_motion: [vehicle_pose, vehicle_rate, vehicle_estimate]",
    at: "[vehicle_pose, v",
    message: /found 3 signals, expected two/,
  },
  {
    name: "a misspelled signal in a pair",
    from: pair,
    to: "same_motion: [vehicle_pose, vehicle_rat]",
    at: "vehicle_rat]",
    message: /found "vehicle_rat", expected a signal/,
    hint: /did you mean vehicle_rate\?/,
  },
  {
    name: "a pair and an offset",
    from: pair,
    to: `${pair}, offset: 3 ms`,
    at: "{ same_motion",
    message: /both same_motion and offset, expected one/,
  },
  {
    name: "neither a pair nor an offset",
    from: `{ ${pair}, search: 2 s }`,
    to: "{ search: 3 s }",
    at: "{ search",
    message: /neither same_motion nor offset/,
  },
  {
    name: "a search beside an offset",
    from: `${pair}, search: 2 s`,
    to: "offset: 3 ms, search: 2 s",
    at: "2 s }",
    message: /found search beside offset/,
  },
  {
    name: "a rule for the reference clock",
    from: "reference: onboard",
    to: "reference: onboard\n  onboard: { offset: 0 s }",
    at: "{ offset: 0 s",
    message: /a rule for onboard, the reference clock/,
  },
  // frames
  {
    name: "an unknown frame",
    from: "tool_point",
    to: "tol_point",
    at: "tol_point",
    message: /unknown key "tol_point", expected world, onboard/,
    hint: /did you mean tool_point\?/,
  },
  {
    name: "an axis that cannot point up",
    from: "up: z",
    to: "up: w",
    at: "w }",
    message: /found "w", expected the axis that points up: z or y/,
  },
  {
    name: "an angle without a unit",
    from: "rotation: [0 deg, 0 deg, 0 deg]",
    to: "rotation: [0 deg, 0 deg, 90]",
    at: "90]",
    message: /the bare number 90, expected an angle such as 90 deg/,
  },
  {
    name: "a misspelled part of a transform",
    from: onboard,
    to: "onboard: { translatoin: [0 mm, 0 mm, 0 mm] }",
    at: "translatoin",
    message: /unknown key "translatoin", expected translation or rotation/,
    hint: /did you mean translation\?/,
  },
  {
    name: "a transform for a block that is not flown",
    from: onboard,
    to: "onboard: { day1: { rotation: [0 deg, 0 deg, 1 deg] }, dya2: { rotation: [0 deg, 0 deg, 1 deg] } }",
    at: "{ rotation: [0 deg, 0 deg, 1 deg] } }",
    message: /found "dya2", expected the block of a run: day1/,
  },
  // runs
  {
    name: "an unknown configuration of a run",
    from: "configuration: weighted, trajectory",
    to: "configuration: wieghted, trajectory",
    at: "wieghted",
    message: /runs#2\.configuration: found "wieghted", expected a declared configuration: bare, weighted or ballast/,
    hint: /did you mean weighted\?/,
  },
  {
    name: "an unknown trajectory of a run",
    from: "trajectory: orbit, block: day1, exc",
    to: "trajectory: orbti, block: day1, exc",
    at: "orbti",
    message: /found "orbti", expected a declared trajectory: orbit, reach, hold or track/,
    hint: /did you mean orbit\?/,
  },
  {
    name: "a run without a log",
    from: "log: flight-02.bag, ",
    to: "",
    at: "{ configuration: weighted, t",
    message: /neither log nor logs, expected one of them/,
  },
  {
    name: "a run with log and logs",
    from: "log: flight-02.bag",
    to: "log: flight-02.bag, logs: { a: b.bag }",
    at: "{ log: flight-02",
    message: /both log and logs/,
  },
  {
    name: "logs that no signal names",
    from: "log: flight-02.bag",
    to: "logs: { a: b.bag, c: d.bag }",
    at: "{ a: b.bag",
    message: /the logs a, c for run b, expected the signal vehicle_pose to say which it is in/,
    hint: /log: a/,
  },
  {
    name: "an exclusion without a reason",
    from: '"arm jammed in cycle 4"',
    to: "true",
    at: "true",
    message: /exclude: found "true", expected the reason in words/,
    hint: /arm jammed/,
  },
  {
    name: "an unknown outcome",
    from: second,
    to: `${base}, outcome: crashed }`,
    at: "crashed",
    message: /found "crashed", expected how the run ended: completed or aborted/,
  },
  {
    name: "a span that ends before it starts",
    from: second,
    to: `${base}, span: [95 s, 30 s] }`,
    at: "[95 s",
    message: /a span that ends at 30 s and starts at 95 s, expected the end after the start/,
  },
  {
    name: "a span that starts before the log",
    from: second,
    to: `${base}, span: [-1 s, 30 s] }`,
    at: "[-1 s",
    message: /expected a start and an end/,
    hint: /first message/,
  },
  {
    name: "a span of one",
    from: second,
    to: `${base}, span: 30 s }`,
    at: "30 s }",
    message: /found "30 s", expected a start and an end such as \[30 s, 95 s\]/,
    hint: /30 s\.\.95 s/,
  },
  {
    name: "a start that is a date only",
    from: second,
    to: `${base}, started: 2026-09-14 }`,
    at: "2026-09-14",
    message: /found "2026-09-14", expected a date and time such as 2026-09-14T09:30:00Z/,
  },
  {
    name: "a day that does not exist",
    from: second,
    to: `${base}, started: 2026-02-30T10:00:00Z }`,
    at: "2026-02-30",
    message: /found "2026-02-30T10:00:00Z"/,
    hint: /no such day/,
  },
  {
    name: "an id given twice",
    from: second,
    to: `${base}, id: a }\n  - ${base.replace("02", "03")}, id: a }`,
    at: "nowhere",
    message: /found "a" a second time, expected every id once \(first at campaign\.yaml:\d+:\d+\)/,
  },
  {
    name: "a key of a run that is unknown",
    from: "block: day1, exclude",
    to: "blok: day1, exclude",
    at: "blok",
    message: /runs#2\.blok: found the unknown key "blok", expected log, logs, id/,
    hint: /did you mean block\?/,
  },
  { name: "an empty run", from: second, to: "", at: "nowhere", message: /runs#2: found nothing, expected a run/ },
  {
    name: "a configuration that is a text",
    from: "{ label: Arm alone }",
    to: "Arm alone",
    at: "Arm alone",
    message:
      /found "Arm alone", expected a configuration: a mapping with the keys label, added_mass, counterweights, com or runs/,
  },
];

describe("each fault names its place, what was found and what was expected", () => {
  test.each(faults)("$name", async ({ from, to, at, message, hint }) => {
    const text = changed([from, to]);
    const error = await refusal(text);
    expect(error.code).toBe("manifest-invalid");
    expect(error.problems.map((problem) => problem.message)).toEqual([expect.stringMatching(message)]);
    const [problem] = error.problems;
    if (hint !== undefined) expect(problem!.hint).toMatch(hint);
    if (text.includes(at)) expect(problem!.place).toBe(placeOf(text, at));
    else expect(problem!.place).toMatch(/^campaign\.yaml:\d+:\d+$/);
    expect(error.place).toBe(problem!.place);
    expect(error.message).toContain(`${problem!.place}: ${problem!.message}`);
  });
});

test("a captured world that has y up by the frames and z up or down by its axes is refused; the axes of its bodies are not", async () => {
  const yUp: [string, string] = ["world: { up: z }", "world: { up: y }"];
  for (const [world, up] of [
    ["ned", "z down"],
    ["frd", "z down"],
    ["enu", "z up"],
  ] as const) {
    const text = changed(yUp, ["{ topic: /mocap/tool", `{ axes: { world: ${world} }, topic: /mocap/tool`]);
    const { problems } = await refusal(text);
    expect(problems).toEqual([
      {
        place: placeOf(text, `${world} }`),
        message: `signals.effector_pose.axes.world: found "${world}" beside \`frames: world: up: y\`, expected one of them: ${world} has ${up}`,
        hint: "leave `world` out of these axes where the capture has y up, else `up: y` out of frames",
      },
    ]);
  }
  const body = await read(changed(yUp, ["{ topic: /mocap/tool", "{ axes: { body: frd }, topic: /mocap/tool"]));
  expect(body.signals.effector_pose!.axes).toEqual({ world: "enu", body: "frd" });
  // what the vehicle logs has a world of its own
  await read(changed(yUp, ["{ topic: /onboard/state", "{ axes: { world: ned }, topic: /onboard/state"]));
});

test("a flown block without a transform is reported once", async () => {
  const text = changed(
    [onboard, "onboard: { day1: { rotation: [0 deg, 0 deg, 1 deg] } }"],
    [base, base.replace("day1", "day2")],
  );
  const error = await refusal(text);
  expect(error.problems).toEqual([
    {
      place: placeOf(text, "{ day1: { rot"),
      message: "frames.onboard: found no transform for block day2, expected one for every block that is flown",
      hint: "add the block, or a general translation and rotation beside `blocks`",
    },
  ]);
});

test("a signal in a log that a run does not have is reported for each such run", async () => {
  const text = changed(["topic: /imu", "topic: /imu, log: fcu"]);
  const { problems } = await refusal(text);
  expect(problems.map(({ place }) => place)).toEqual([placeOf(text, "flight-01.bag"), placeOf(text, "flight-02.bag")]);
  expect(problems[0]!.message).toMatch(
    /one log for run flight-01, expected logs: \{ fcu: \.\.\. \}: the signal vehicle_rate/,
  );
});

test("signals that name no clock beside signals that do are refused, not guessed", async () => {
  const clocks = example.slice(example.indexOf("clocks:\n"), example.indexOf("trajectories:"));
  const text = changed([clocks, ""]).replaceAll(", clock: onboard", "");
  const { problems } = await refusal(text);
  expect(problems.map(({ message }) => message)).toEqual(
    ["vehicle_setpoint", "effector_command", "vehicle_rate", "vehicle_estimate"].map(
      (name) => `signals.${name}: found no clock, expected it: other signals name mocap`,
    ),
  );
});

test("a reference clock where no signal names one is refused", async () => {
  const { problems } = await refusal(
    changed(["same_motion: [vehicle_pose, vehicle_rate], search: 2 s", "offset: 3 ms"]).replaceAll(/, clock: \w+/g, ""),
  );
  expect(problems.map(({ message }) => message)).toEqual([
    'clocks.reference: found "onboard", but no signal names a clock, expected clock: in every signal',
  ]);
});

describe("spans of one log", () => {
  const line = (log: string, id: string, span: string): string =>
    `  - { log: ${log}, id: ${id}, configuration: bare, trajectory: orbit, block: day1${span} }\n`;
  const head = `${example.slice(0, example.indexOf("runs:\n"))}runs:\n`;

  test("may not overlap, and both runs are named", async () => {
    const text = head + line("a.bag", "first", ", span: [0 s, 30 s]") + line("./a.bag", "next", ", span: [29 s, 60 s]");
    const error = await refusal(text);
    expect(error.problems).toHaveLength(1);
    expect(error.problems[0]!.message).toMatch(
      /run next \(29 s to 60 s\) overlapping run first \(0 s to 30 s\) of the same log/,
    );
    expect(error.problems[0]!.place).toBe(placeOf(text, "[29 s"));
    expect(error.problems[0]!.hint).toContain(placeOf(text, "{ log: a.bag"));
  });
  test("may not overlap one that encloses a run between", async () => {
    const spans = [", span: [0 s, 100 s]", ", span: [100 s, 120 s]", ", span: [90 s, 95 s]"];
    const error = await refusal(head + spans.map((span, index) => line("a.bag", `r${index}`, span)).join(""));
    expect(error.problems.map(({ message }) => message)).toEqual([
      expect.stringMatching(/run r2 .* overlapping run r0/),
    ]);
  });
  test("may not stand beside the whole log", async () => {
    const error = await refusal(head + line("a.bag", "part", ", span: [0 s, 9 s]") + line("a.bag", "all", ""));
    expect(error.problems[0]!.message).toMatch(/run all \(the whole log\) overlapping run part/);
  });
});

describe("spans of several logs", () => {
  const changedLogs = example
    .slice(0, example.indexOf("runs:\n"))
    .replaceAll(/\{ topic: (\S+) +clock: (\w+)/g, "{ topic: $1 clock: $2, log: $2");
  const line = (mocap: string, id: string, span: string): string =>
    `  - { logs: { mocap: ${mocap}, onboard: o.ulg }, id: ${id}, configuration: bare, trajectory: orbit, block: day1${span} }\n`;
  const messages = async (...lines: string[]): Promise<string[]> =>
    (await refusal(`${changedLogs}runs:\n${lines.join("")}`)).problems.map(({ message }) => message);

  test("may not overlap in any of them, and that is reported once", async () => {
    expect(
      await messages(
        line("m.csv", "first", ", span: { mocap: [0 s, 30 s], onboard: [5 s, 40 s] }"),
        line("m.csv", "next", ", span: { mocap: [30 s, 60 s], onboard: [39 s, 70 s] }"),
      ),
    ).toEqual([
      expect.stringMatching(/run next \(39 s to 70 s\) overlapping run first \(5 s to 40 s\) of the same log/),
    ]);
    expect(
      await messages(line("m.csv", "first", ", span: [0 s, 30 s]"), line("m.csv", "next", ", span: [29 s, 60 s]")),
    ).toHaveLength(1);
  });

  test("are of logs that the run has", async () => {
    expect(await messages(line("m.csv", "first", ", span: { mocup: [0 s, 30 s] }"))).toEqual([
      expect.stringMatching(/found "mocup", expected a log of run first: mocap or onboard$/),
    ]);
    const one = "  - { log: a.bag, id: first, configuration: bare, trajectory: orbit, span: { mocap: [0 s, 9 s] } }\n";
    const { problems } = await refusal(`${example.slice(0, example.indexOf("runs:\n"))}runs:\n${one}`);
    expect(problems.map(({ message }) => message)).toEqual([
      expect.stringMatching(/found spans by the names of logs for run first, expected \[START, END\]: it has one log/),
    ]);
  });

  test("are spans each, and one at least", async () => {
    expect(await messages(line("m.csv", "first", ", span: { mocap: [0 s, 30] }"))).toEqual([
      expect.stringMatching(/of the log mocap: found the bare number 30/),
    ]);
    expect(await messages(line("m.csv", "first", ", span: {}"))).toEqual([
      expect.stringMatching(/found a span of no log/),
    ]);
  });
});

test("all problems are reported together, in the order of their places, twenty in the message", async () => {
  const text = changed(
    ["baseline: bare", "baseline: bear"],
    ["radius: 60 mm", "radius: 60"],
    ["up: z", "up: w"],
    ["block: day1, exclude", "blok: day1, exclude"],
  );
  const error = await refusal(text);
  const pieces = ["bear", "w }", "60, speed", "blok"];
  expect(error.problems.map(({ place }) => place)).toEqual(pieces.map((piece) => placeOf(text, piece)));
  expect(error.message.split("\n")).toHaveLength(4);
  expect(error.message).toContain("(hint: did you mean bare?)");
  const many = await refusal(`${example}${"  - { log: a.bag, configuration: no, trajectory: orbit }\n".repeat(50)}`);
  expect(many.problems).toHaveLength(50);
  expect(many.message.split("\n")).toHaveLength(21);
  expect(many.message).toMatch(/and 30 more$/);
});

test("a manifest that is empty, a list or a text is refused as a whole", async () => {
  for (const text of ["", "# only a comment\n", "- a\n- b\n", "just words\n"]) {
    const error = await refusal(text);
    expect(error.problems).toHaveLength(1);
    expect(error.problems[0]!.message).toMatch(
      /^found (nothing|a list|a text), expected a mapping with the keys title, baseline/,
    );
  }
});

test("every section that is required is missed by name", async () => {
  const error = await refusal("sham: x\n");
  const missed = error.problems.map(({ message }) => message.split(":")[0]);
  expect(missed.sort()).toEqual([
    "baseline",
    "candidate",
    "configurations",
    "runs",
    "signals",
    "title",
    "trajectories",
  ]);
});

test("more than ten thousand runs, or none, are refused", async () => {
  const head = example.slice(0, example.indexOf("runs:\n"));
  const line = "- { log: a.bag, configuration: bare, trajectory: orbit }\n";
  expect((await refusal(`${head}runs:\n${line.repeat(10_001)}`)).message).toMatch(
    /found 10001 runs, expected 1 to 10000/,
  );
  expect((await refusal(`${head}runs: []\n`)).message).toMatch(/found 0 runs, expected 1 to 10000/);
});
