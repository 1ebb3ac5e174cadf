import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { CampaignEvaluation, RunEvaluation } from "../../src/contract/evaluation.ts";
import { ManifestError } from "../../src/foundation/errors.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import type { Fault } from "../../src/simulation/faults.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";
import { type BagOptions, buildBag } from "../support/writeBag.ts";
import { flightMessages } from "./flightBag.ts";
import { checksOf, evaluateFlights, glance, idOf, shortFlight, shortManifest } from "./shortCampaign.ts";

/** The run by its id, or a failure that says which are there. */
function runOf(evaluation: CampaignEvaluation, id: string): RunEvaluation {
  const run = evaluation.runs.find((one) => one.id === id);
  if (!run) throw new Error(`no run ${id} among ${evaluation.runs.map((one) => one.id).join(", ")}`);
  return run;
}

describe("a campaign of bags, most of them bad, on disk", () => {
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-bad-"));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const logs = [
    ...["missing", "empty", "text", "folder", "good-1", "cut", "unindexed", "nothing", "packed"],
    ...["no-topic", "no-tool", "wrong-type", "good-2"],
  ].map((name) => `${name}.bag`);
  let evaluation: CampaignEvaluation;
  const run = (id: string): RunEvaluation => runOf(evaluation, id);
  /** Its only check of that code: severity, message, hint. */
  const only = (id: string, code: Parameters<typeof checksOf>[1]) => {
    const found = checksOf(run(id), code);
    expect(found).toHaveLength(1);
    return found[0]!;
  };

  beforeAll(async () => {
    const put = (name: string, bytes: Uint8Array | string): void => writeFileSync(join(folder, `${name}.bag`), bytes);
    const messages = (seed: number) => flightMessages(shortFlight(seed));
    const bag = (seed: number, options: BagOptions = {}): Buffer =>
      buildBag(messages(seed), { perChunk: 500, ...options }).bytes;
    put("good-1", bag(1));
    put("good-2", bag(2));
    put("empty", "");
    put("text", "Notes of the flight day: wind light, arm jammed once.\n");
    mkdirSync(join(folder, "folder.bag"));
    // cut in the fifth of its six cycles: 16 of 20 s
    const whole = bag(3);
    put("cut", whole.subarray(0, Math.floor(0.78 * whole.length)));
    put("unindexed", bag(4, { unindexed: true }));
    put("nothing", buildBag([]).bytes);
    put("packed", buildBag(messages(5).slice(0, 50), { compression: "zstd" }).bytes);
    const renamed = messages(6).map((one) =>
      one.topic === "/mocap/airframe" ? { ...one, topic: "/mocap/air_frame" } : one,
    );
    put("no-topic", buildBag(renamed, { perChunk: 500 }).bytes);
    const toolless = messages(7).filter(({ topic }) => topic !== "/mocap/tool");
    put("no-tool", buildBag(toolless, { perChunk: 500 }).bytes);
    const eighth = messages(8);
    const { type, md5, data } = eighth.find((one) => one.type === "sensor_msgs/Imu")!;
    const mistyped = eighth.map((one) =>
      one.topic === "/onboard/hold_point" ? { ...one, type, md5: md5!, data } : one,
    );
    put("wrong-type", buildBag(mistyped, { perChunk: 500 }).bytes);
    writeFileSync(join(folder, "campaign.yaml"), shortManifest(logs));
    evaluation = await evaluateCampaign(join(folder, "campaign.yaml"));
  });

  test("is evaluated all the same, to an evaluation that keeps its schema: no bad run stops another", () => {
    expect(() => evaluationJson(evaluation)).not.toThrow();
    expect(evaluation.runs.map(({ id }) => id)).toEqual(logs.map(idOf));
    for (const id of ["good-1", "good-2"]) {
      expect(run(id).used).toBe(true);
      expect(run(id).windows.cycles).toHaveLength(6);
      expect(run(id).tracking.cycles!.effector!.x.rms).toBeGreaterThan(0);
    }
  });

  test("the good runs come out as they do without the bad ones beside them", async () => {
    writeFileSync(join(folder, "good.yaml"), shortManifest(["good-1.bag", "good-2.bag"]));
    const alone = await evaluateCampaign(join(folder, "good.yaml"));
    for (const { id, windows, clocks, hold, synchronous } of alone.runs) {
      const beside = run(id);
      expect({ windows, clocks, hold, synchronous }).toEqual({
        windows: beside.windows,
        clocks: beside.clocks,
        hold: beside.hold,
        synchronous: beside.synchronous,
      });
    }
  });

  test.each([
    ["missing", /missing\.bag: found no such file, expected a log file/, /relative to the manifest/],
    ["empty", /empty\.bag: found an empty file \(0 bytes\), expected a log/, /copy it again/],
    [
      "text",
      /text\.bag: found text that starts with "Notes of the flight day: wind light, arm.*expected a log/,
      /as the recorder wrote it/,
    ],
    ["folder", /folder\.bag: found a folder without a file of a ROS 2 bag/, /or a log file itself/],
    ["packed", /packed\.bag: found a chunk packed with "zstd", expected none, lz4, bz2/, /unpack the bag/],
  ])("%s: log-unreadable, unusable, in words", (id, message, hint) => {
    const check = only(id, "log-unreadable");
    expect(check.severity).toBe("unusable");
    expect(check.message).toMatch(message);
    expect(check.hint).toMatch(hint);
    expect(run(id)).toMatchObject({ used: false, excluded_because: "unusable: log-unreadable", epoch: null });
    expect(run(id).tracking).toEqual({ cycles: null, hold: null });
  });

  test("a missing log is not among the inputs, the others are, with size and hash", () => {
    const inputs = new Map(evaluation.inputs.map((input) => [input.path, input]));
    expect(inputs.has("missing.bag")).toBe(false);
    expect(inputs.get("empty.bag")).toEqual({
      path: "empty.bag",
      bytes: 0,
      // printf '' | sha256sum
      sha256: "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    });
  });

  test("a bag that was cut off is recovered up to the cut, and the missing cycles are reported", () => {
    expect(only("cut", "recovered")).toMatchObject({ severity: "doubt" });
    expect(only("cut", "recovered").message).toMatch(/cut\.bag: it ends before its index/);
    expect(only("cut", "few-cycles").message).toMatch(/^4 whole cycles recorded of 6 declared/);
    expect(run("cut").used).toBe(true);
  });

  test("a bag without an index is recovered whole, and used", () => {
    expect(only("unindexed", "recovered").message).toMatch(
      /has no index: scanned, \d+ chunk\(s\) with \d+ message\(s\) found/,
    );
    expect(run("unindexed").windows.cycles).toHaveLength(6);
    expect(run("unindexed").used).toBe(true);
  });

  test("a bag with no messages is unusable: nothing of what was asked for is there", () => {
    const found = checksOf(run("nothing"), "missing-signal");
    expect(found.map(({ evidence }) => evidence.signal)).toEqual([
      ...["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command", "vehicle_rate"],
    ]);
    expect(found[0]!.message).toBe(
      "vehicle_pose: found no topic /mocap/airframe; the log holds no topics; the run cannot be scored",
    );
    expect(run("nothing").used).toBe(false);
  });

  test("a topic that is not there: those there are, nearest first", () => {
    const check = only("no-topic", "missing-signal");
    expect(check.severity).toBe("unusable");
    expect(check.message).toBe(
      "vehicle_pose: found no topic /mocap/airframe; there are /mocap/air_frame, /mocap/tool, /arm/goal, /imu, /onboard/hold_point; the run cannot be scored",
    );
    expect(check.hint).toBe("did you mean /mocap/air_frame?");
  });

  test("without the effector's pose the vehicle is scored, and it is said that the rest is not", () => {
    const check = only("no-tool", "missing-signal");
    expect(check.severity).toBe("doubt");
    expect(check.message).toMatch(/effector and arm are not scored$/);
    expect(Object.keys(run("no-tool").tracking.cycles!)).toEqual(["vehicle"]);
    expect(run("no-tool").used).toBe(true);
  });

  test("a type that cannot be a setpoint: both are named", () => {
    const check = only("wrong-type", "missing-signal");
    expect(check.severity).toBe("unusable");
    expect(check.message).toMatch(
      /^vehicle_setpoint, topic \/onboard\/hold_point: found type sensor_msgs\/Imu, expected one of geometry_msgs\/PoseStamped/,
    );
  });
});

describe("poses and stamps that are no poses and stamps", () => {
  const at = 12;
  const fault = (one: Fault): FlightChanges => ({ faults: [one] });
  const flights: Record<string, FlightChanges> = {
    clean: {},
    "nan-long": fault({ kind: "bad-quaternion", signal: "vehicle_pose", value: "nan", at, seconds: 1.5 }),
    "zero-brief": fault({ kind: "bad-quaternion", signal: "vehicle_pose", value: "zero", at, seconds: 0.3 }),
    "scaled-tool": fault({ kind: "bad-quaternion", signal: "effector_pose", value: "long", at, seconds: 1.5 }),
    "scaled-always": fault({ kind: "bad-quaternion", signal: "vehicle_pose", value: "long", at: 0, seconds: 99 }),
    duplicate: fault({ kind: "duplicate-stamps", signal: "vehicle_pose", at, seconds: 1.5 }),
    backward: fault({ kind: "backward-stamps", signal: "vehicle_pose", by: 2, at, seconds: 0.2 }),
    "pose-1970": fault({ kind: "stamps-1970", signal: "vehicle_pose" }),
    "setpoint-1970": fault({ kind: "stamps-1970", signal: "vehicle_setpoint" }),
    "setpoint-0": fault({ kind: "zero-stamps", signal: "vehicle_setpoint" }),
    "an-hour-apart": { clock: { offset: 3600 } },
    "no-gyro": fault({ kind: "missing", signal: "vehicle_rate" }),
    resting: { trajectory: { shape: "hold", duration: 20 } },
    "half-a-cycle": fault({ kind: "truncated", cycle: 0.5 }),
  };
  let evaluation: CampaignEvaluation;
  const run = (id: string): RunEvaluation => runOf(evaluation, id);
  beforeAll(async () => {
    const logs = Object.entries(flights).map(
      ([name, changes], i) => [`${name}.bag`, shortFlight(100 + i, changes)] as const,
    );
    evaluation = await evaluateFlights(Object.fromEntries(logs), shortManifest(logs.map(([log]) => log)));
  });

  test("the clean run has no doubt beside it", () => {
    expect(run("clean").used).toBe(true);
    // its hold of 6 s is short, and that is only noted
    expect(glance(run("clean"))).toEqual(["short-hold note"]);
  });

  test("1.5 of 9 s without a quaternion are more than a tenth: unusable, and the poses are left out, not repaired", () => {
    for (const [id, signal] of [
      ["nan-long", "vehicle_pose"],
      ["scaled-tool", "effector_pose"],
    ] as const) {
      const [check] = checksOf(run(id), "bad-quaternion");
      expect(check!.severity).toBe("unusable");
      expect(check!.evidence).toMatchObject({ signal, samples: 150, stretches: 1 });
      expect(run(id).excluded_because).toBe("unusable: bad-quaternion");
    }
    // 7.55 of 9.05 s
    expect(run("nan-long").valid_fraction.vehicle).toBeCloseTo(1 - 1.5 / 9.05, 2);
  });

  test("0.3 s of zero quaternions are a doubt, and cost just their share", () => {
    const [check] = checksOf(run("zero-brief"), "bad-quaternion");
    expect(check!.severity).toBe("doubt");
    expect(check!.evidence).toMatchObject({ samples: 30 });
    expect(run("zero-brief").used).toBe(true);
    expect(run("zero-brief").valid_fraction.vehicle).toBeCloseTo(1 - 0.3 / 9.05, 2);
  });

  test("a log whose quaternions are never of unit norm has no valid pose at all", () => {
    expect(run("scaled-always").used).toBe(false);
    expect(run("scaled-always").tracking).toEqual({ cycles: null, hold: null });
    expect(run("scaled-always").checks.some(({ message }) => /0 valid poses of the vehicle/.test(message))).toBe(true);
  });

  test("duplicate stamps: the first message of each is kept, counted", () => {
    const [check] = checksOf(run("duplicate"), "stamp-duplicate");
    // 1.5 s at 100 Hz, each second message
    expect(check).toMatchObject({ severity: "doubt", evidence: { topic: "/mocap/airframe", count: 75 } });
    expect(run("duplicate").used).toBe(true);
  });

  test("stamps set back by 2 s: put in order, and the hole they leave is reported", () => {
    const [check] = checksOf(run("backward"), "stamp-backward");
    expect(check!.severity).toBe("doubt");
    expect(check!.evidence.largest_step_back_s).toBeCloseTo(1.99, 2);
    expect(checksOf(run("backward"), "gap")[0]!.evidence.longest_s).toBeCloseTo(0.21, 2);
  });

  test("stamps that count from 1970 are reported, and never lead to a score", () => {
    for (const [id, topic] of [
      ["pose-1970", "/mocap/airframe"],
      ["setpoint-1970", "/onboard/hold_point"],
    ] as const) {
      expect(checksOf(run(id), "stamp-epoch")[0]!.message).toContain(`stamps of ${topic} count from another epoch`);
      expect(run(id).used).toBe(false);
    }
  });

  test("zero stamps: the time of receipt is used, and that is a doubt", () => {
    const [check] = checksOf(run("setpoint-0"), "stamp-log-used");
    expect(check).toMatchObject({
      severity: "doubt",
      evidence: { topic: "/onboard/hold_point", zero: check!.evidence.messages! },
    });
    expect(evaluation.settings.signals.vehicle_setpoint!.stamp).toContain("log (setpoint-0)");
  });

  test("clocks that do not overlap are refused, with the way out", () => {
    const [check] = checksOf(run("an-hour-apart"), "clock-ambiguous");
    expect(check!.severity).toBe("unusable");
    // the offset that the flight was simulated with, to a step of the search (0.04 s)
    expect(check!.message).toMatch(
      /show the same motion (3600\.0|3599\.9)\d s from 0 s \(both clocks show dates\), further/,
    );
    expect(check!.hint).toMatch(/give `near`, or widen `search`/);
    expect(run("an-hour-apart").tracking.cycles).toBeNull();
  });

  test("a clock whose second sight is missing is refused, not set to zero", () => {
    expect(run("no-gyro")).toMatchObject({ used: false, clocks: {}, tracking: { cycles: null, hold: null } });
    expect(
      run("no-gyro")
        .checks.map(({ message }) => message)
        .join("\n"),
    ).toMatch(/the offset of clock mocap needs vehicle_pose and vehicle_rate, but this run holds no vehicle_rate/);
  });

  test("no cycles found: wrong-trajectory, unusable, no cycle figures", () => {
    expect(checksOf(run("resting"), "wrong-trajectory")[0]!.message).toBe(
      "declared as circle, but the command never moves",
    );
    expect(checksOf(run("half-a-cycle"), "wrong-trajectory")[0]!.message).toMatch(/it moves for only 0\.7\d s/);
    for (const id of ["resting", "half-a-cycle"]) {
      expect(run(id).excluded_because).toBe("unusable: wrong-trajectory");
      expect(run(id).windows.cycles).toEqual([]);
      expect([run(id).tracking.cycles, run(id).synchronous]).toEqual([null, null]);
    }
    // the hover was flown all the same
    expect(run("resting").hold!.vehicle!.x.sd).toBeGreaterThan(0);
  });
});

test("one run only is evaluated", async () => {
  const { runs, settings } = await evaluateFlights({ "only.bag": shortFlight(1) });
  expect(runs.map(({ used }) => used)).toEqual([true]);
  expect(settings.common_cycles).toEqual({ orbit: 6 });
});

describe("a manifest at fault stops everything before a log is touched", () => {
  const good = shortManifest(["a.bag", "b.bag"]);
  /** The error that a manifest gives; a log that is asked for is a failure. */
  async function refused(text: string, size = text.length): Promise<ManifestError> {
    const effects = {
      ...memoryEffects(text, {}),
      size: async (path: string) => (path === "campaign.yaml" ? size : null),
      readLog: async () => {
        throw new Error("a log was read");
      },
    };
    const error = await evaluateCampaign("campaign.yaml", { effects }).catch((cause: unknown) => cause);
    expect(error).toBeInstanceOf(ManifestError);
    return error as ManifestError;
  }
  const line = (text: string, part: string): number => text.split("\n").findIndex((one) => one.includes(part)) + 1;

  test.each([
    ["a bare number for a quantity", "radius: 60 mm", "radius: 60", /60/, /unit|mm/],
    ["an unknown key", "radius: 60 mm", "raidus: 60 mm", /raidus/, /radius/],
    ["a unit of the wrong dimension", "speed: 0.25 m/s", "speed: 0.25 kg", /0\.25 kg/, /m\/s/],
    ["a run of a configuration that is not there", "configuration: bare", "configuration: bear", /bear/, /bare/],
  ])("%s: place, what was found and the way out", async (_, from, to, found, hint) => {
    const text = good.replace(from, to);
    const error = await refused(text);
    expect(error.message).toContain(`campaign.yaml:${line(text, to)}:`);
    expect(error.message).toMatch(found);
    expect(`${error.message} ${error.hint}`).toMatch(hint);
  });

  test("overlapping spans of one log: both runs are named", async () => {
    const runs =
      "  - { log: a.bag, id: first, configuration: bare, trajectory: orbit, span: [0 s, 60 s] }\n  - { log: a.bag, id: second, configuration: bare, trajectory: orbit, span: [50 s, 90 s] }\n";
    const { message } = await refused(`${good.slice(0, good.indexOf("runs:\n"))}runs:\n${runs}`);
    expect(message).toMatch(/first/);
    expect(message).toMatch(/second/);
  });

  test("an alias inside what it stands for", async () => {
    const { message } = await refused(good.replace("trajectories:", "trajectories: &all\n  again: *all"));
    expect(message).toMatch(/alias/);
  });

  test("100 MB: refused by its size, unread", async () => {
    const effects = {
      ...memoryEffects(good, {}),
      size: async () => 100_000_000,
      readText: async () => {
        throw new Error("it was read");
      },
    };
    const error = (await evaluateCampaign("campaign.yaml", { effects }).catch(
      (cause: unknown) => cause,
    )) as ManifestError;
    expect(error).toBeInstanceOf(ManifestError);
    expect(error.code).toBe("manifest-too-large");
    expect(error.message).toBe("found 100000000 bytes, expected at most 4194304");
  });

  test("no such file", async () => {
    const error = (await evaluateCampaign("nowhere/campaign.yaml", { effects: memoryEffects(good, {}) }).catch(
      (cause: unknown) => cause,
    )) as ManifestError;
    expect([error.code, error.place]).toEqual(["manifest-missing", "nowhere/campaign.yaml"]);
  });

  test("a file that cannot be read", async () => {
    const effects = {
      ...memoryEffects(good, {}),
      readText: async () => {
        throw new Error("EACCES: permission denied");
      },
    };
    const error = (await evaluateCampaign("campaign.yaml", { effects }).catch(
      (cause: unknown) => cause,
    )) as ManifestError;
    expect(error).toBeInstanceOf(ManifestError);
    expect(error.message).toContain("permission denied");
  });
});
