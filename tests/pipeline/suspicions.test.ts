import { describe, expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, glance, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

/** What a lab gets wrong without noticing, made by hand from a sound simulated flight: each must be said. */

type Changed = Partial<Record<SignalName, (signal: RecordedSignal) => RecordedSignal>>;

const sound = shortFlight(11);
const recorded = toRecording(sound);
const cycleStart = sound.truth.cycleStart;

async function fly(change: Changed, manifest = shortManifest(["a.bag"])): Promise<RunEvaluation> {
  const signals = new Map(
    [...recorded.signals].map(([name, signal]) => [name, change[name]?.(signal) ?? signal] as const),
  );
  const recording: Recording = { ...recorded, signals };
  return (await evaluateFlights({ "a.bag": recording }, manifest)).runs[0]!;
}

const withColumns = (signal: RecordedSignal, columns: Readonly<Record<string, Float64Array>>): RecordedSignal => ({
  ...signal,
  columns: { ...signal.columns, ...columns },
});

/** A gyro whose rates are made of each row's three. */
function withRates(signal: RecordedSignal, of: (rates: readonly number[]) => readonly number[]): RecordedSignal {
  const { wx, wy, wz } = signal.columns as Readonly<Record<string, Float64Array>>;
  const rows = Array.from(wx!, (x, i) => of([x, wy![i]!, wz![i]!]));
  const column = (axis: number): Float64Array => Float64Array.from(rows, (row) => row[axis]!);
  return withColumns(signal, { wx: column(0), wy: column(1), wz: column(2) });
}

/** Seconds after the log's start at which a message was received. */
const received = (signal: RecordedSignal, i: number): number =>
  Number(signal.received.epoch - sound.settings.start) / 1e9 + signal.received.seconds[i]!;

test("the flight all this is made from is sound", async () => {
  const run = await fly({});
  expect(run.used).toBe(true);
  expect(glance(run).filter((text) => !text.endsWith("note"))).toEqual([]);
});

describe("axes and roles that contradict physics", () => {
  test("a quaternion written w first: the vehicle would fly on its back", async () => {
    const run = await fly(
      {
        vehicle_pose: (signal) => {
          const { qx, qy, qz, qw } = signal.columns as Record<string, Float64Array>;
          return withColumns(signal, { qx: qw!, qy: qx!, qz: qy!, qw: qz! });
        },
        // the gyro of such a flight would not agree either; a known offset leaves the attitude as the only witness
      },
      shortManifest(["a.bag"], { captureClock: "known" }),
    );
    expect(run.used).toBe(false);
    expect(checksOf(run, "frame-suspect")[0]).toMatchObject({ severity: "unusable" });
    expect(checksOf(run, "frame-suspect")[0]!.message).toMatch(/tilted by \d+ degrees/);
  });

  test("vehicle and effector exchanged: each stands where the other should", async () => {
    const [vehicle, effector] = [recorded.signals.get("vehicle_pose")!, recorded.signals.get("effector_pose")!];
    const run = await fly(
      {
        vehicle_pose: () => ({ ...effector, signal: "vehicle_pose" }),
        effector_pose: () => ({ ...vehicle, signal: "effector_pose" }),
      },
      shortManifest(["a.bag"], { captureClock: "known" }),
    );
    expect(run.used).toBe(false);
    expect(checksOf(run, "swap")[0]?.message).toMatch(/look exchanged/);
  });

  test("a y-up capture that was not declared", async () => {
    const turn = (signal: RecordedSignal): RecordedSignal => {
      const { x, y, z } = signal.columns as Record<string, Float64Array>;
      // x, y, z of a z-up world are x, z, -y of a y-up one; bodies keep their axes' names (defined y up)
      return withColumns(signal, { x: x!, y: z!, z: y!.map((value) => -value) });
    };
    const run = await fly({ vehicle_pose: turn, effector_pose: turn });
    expect(run.used).toBe(false);
    expect(
      checksOf(run, "frame-suspect")
        .map(({ message }) => message)
        .join(),
    ).toMatch(/y up/);
  });

  test("a tool frame turned upside down: the tool seems to stand twice its offset away", async () => {
    const run = await fly({
      effector_pose: (signal) => {
        const { qx, qy, qz, qw } = signal.columns as Record<string, Float64Array>;
        // q o (half a turn about x) = (w, z, -y, -x)
        return withColumns(signal, { qx: qw!, qy: qz!, qz: qy!.map((v) => -v), qw: qx!.map((v) => -v) });
      },
    });
    // 2 x 45 mm of the declared tool point
    expect(checksOf(run, "frame-suspect")[0]?.message).toMatch(/the tool stands (8\d|9\d) mm/);
    expect(checksOf(run, "frame-suspect")[0]?.severity).toBe("doubt");
  });
});

describe("commands that are none", () => {
  const within = (signal: RecordedSignal, from: number, to: number): Uint8Array =>
    Uint8Array.from(signal.received.seconds, (_, i) =>
      received(signal, i) > from && received(signal, i) < to ? 1 : 0,
    );

  test("setpoints that read 0 0 0 for a second are fields never filled, and nothing is scored there", async () => {
    const usual = await fly({});
    const run = await fly({
      vehicle_setpoint: (signal) => {
        const blank = within(signal, cycleStart + 2, cycleStart + 2.5);
        const zero = (name: string): Float64Array => signal.columns[name]!.map((v, i) => (blank[i] === 1 ? 0 : v));
        return withColumns(signal, { x: zero("x"), y: zero("y"), z: zero("z") });
      },
    });
    expect(checksOf(run, "jump")[0]?.message).toMatch(/25 messages read exactly 0 0 0/);
    expect(
      checksOf(run, "gap").some(({ message }) => message.startsWith("vehicle_setpoint: nothing was commanded")),
    ).toBe(true);
    // half a second of 9 s less: the figure moves by its own scatter, not by metres
    const [found, known] = [run, usual].map((each) => each.tracking.cycles!.vehicle!.norm.rms);
    expect(Math.abs(found! - known!)).toBeLessThan(0.1 * known!);
  });

  test("one message without attitude keeps the one before; all without mean level and yaw 0, which is said", async () => {
    const spoil =
      (share: number) =>
      (signal: RecordedSignal): RecordedSignal => {
        const every = Math.round(1 / share);
        const zero = (name: string): Float64Array =>
          signal.columns[name]!.map((v, i) => (i % every === 5 % every ? 0 : v));
        return withColumns(signal, { qx: zero("qx"), qy: zero("qy"), qz: zero("qz"), qw: zero("qw") });
      };
    const usual = await fly({});
    const few = await fly({ vehicle_setpoint: spoil(0.01) });
    expect(checksOf(few, "bad-quaternion")[0]).toMatchObject({ severity: "note" });
    expect(few.tracking.cycles!.effector).toEqual(usual.tracking.cycles!.effector);
    const evaluation = await evaluateFlights({
      "a.bag": {
        ...recorded,
        signals: new Map(recorded.signals).set("vehicle_setpoint", spoil(1)(recorded.signals.get("vehicle_setpoint")!)),
      },
    });
    expect(evaluation.settings.signals.vehicle_setpoint).toMatchObject({ attitude: "level" });
  });
});

describe("captures", () => {
  test("one pose 30 mm aside is cut out, whatever its implied speed", async () => {
    const usual = await fly({});
    const run = await fly({
      vehicle_pose: (signal) => {
        const at = signal.received.seconds.findIndex((_, i) => received(signal, i) > cycleStart + 3);
        return withColumns(signal, { y: signal.columns.y!.map((v, i) => (i === at ? v + 0.03 : v)) });
      },
    });
    expect(checksOf(run, "jump")).toHaveLength(1);
    expect(run.tracking.cycles!.vehicle!.y.max_abs).toBeCloseTo(usual.tracking.cycles!.vehicle!.y.max_abs, 4);
  });

  test("bodies that change places and stay exchanged make the run unusable, whichever part is longer", async () => {
    for (const at of [cycleStart + 2, cycleStart + 7]) {
      const [vehicle, effector] = [recorded.signals.get("vehicle_pose")!, recorded.signals.get("effector_pose")!];
      const mix = (own: RecordedSignal, other: RecordedSignal): RecordedSignal =>
        withColumns(
          own,
          Object.fromEntries(
            Object.keys(own.columns).map((name) => [
              name,
              own.columns[name]!.map((v, i) => (received(own, i) < at ? v : other.columns[name]![i]!)),
            ]),
          ),
        );
      const run = await fly({
        vehicle_pose: () => mix(vehicle, effector),
        effector_pose: () => mix(effector, vehicle),
      });
      expect(run.used, `${at}`).toBe(false);
      expect(checksOf(run, "swap").length, `${at}`).toBeGreaterThan(0);
    }
  });

  test("a capture clock set back by 3 s in flight is no late packet: unusable", async () => {
    const run = await fly({
      vehicle_pose: (signal) => ({
        ...signal,
        stamped: {
          epoch: signal.stamped!.epoch,
          seconds: signal.stamped!.seconds.map((v, i) => (received(signal, i) > cycleStart + 3 ? v - 3 : v)),
        },
      }),
    });
    expect(run.used).toBe(false);
    expect(checksOf(run, "stamp-backward")[0]).toMatchObject({ severity: "unusable" });
  });

  test("two epochs on one declared clock are refused by name", async () => {
    const run = await fly({
      vehicle_setpoint: (signal) => ({ ...signal, stamped: { epoch: 0n, seconds: signal.received.seconds } }),
    });
    expect(run.used).toBe(false);
    expect(
      checksOf(run, "stamp-epoch").some(({ message }) => /vehicle_setpoint.*days apart|days apart/.test(message)),
    ).toBe(true);
  });
});

test("the gyro of another flight beside a declared clock offset is reported; that of a noisy, quiet or slanted one is not", async () => {
  const manifest = shortManifest(["a.bag"], { captureClock: "known" });
  const other = toRecording(shortFlight(12)).signals.get("vehicle_rate")!;
  const told = checksOf(await fly({ vehicle_rate: () => other }, manifest), "clock-axes-disagree");
  expect(told).toMatchObject([{ severity: "doubt", message: expect.stringContaining("both move, but not together") }]);
  const { normal } = seededRandom(12);
  const turned = Math.PI / 4;
  const sounds: readonly ((signal: RecordedSignal) => RecordedSignal)[] = [
    (signal) => signal,
    // as loud as the motion
    (signal) => withRates(signal, (rates) => rates.map((rate) => rate + 0.05 * normal())),
    // nothing but noise, as of props that stand
    (signal) => withRates(signal, (rates) => rates.map(() => 1e-3 * normal())),
    // an autopilot mounted 45 degrees off
    (signal) =>
      withRates(signal, ([x, y, z]) => [
        x! * Math.cos(turned) + y! * Math.sin(turned),
        y! * Math.cos(turned) - x! * Math.sin(turned),
        z!,
      ]),
  ];
  for (const change of sounds) {
    const run = await fly({ vehicle_rate: change }, manifest);
    expect(checksOf(run, "clock-axes-disagree").map(({ message }) => message)).toEqual([]);
  }
});

test("a declared aborted run is reported as aborted, whatever else is wrong with it", async () => {
  const manifest = shortManifest(
    [{ log: "a.bag", id: "a", configuration: "bare", trajectory: "orbit", outcome: "aborted" }],
    {
      flight: shortSettings({
        trajectory: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 10, rampIn: 0 },
      }),
    },
  );
  const run = await fly({}, manifest);
  expect(checksOf(run, "wrong-trajectory")).toHaveLength(1);
  expect(run.excluded_because).toBe("aborted");
});

describe("times no flight has", () => {
  const retimed = (signal: RecordedSignal, of: (seconds: number, i: number) => number): RecordedSignal => {
    const column = { epoch: signal.received.epoch, seconds: signal.received.seconds.map(of) };
    return { ...signal, received: column, stamped: column };
  };

  test("microseconds taken for seconds end neither the program nor the reader's patience", async () => {
    const run = await fly({ vehicle_pose: (signal) => retimed(signal, (seconds) => 1e6 * seconds) });
    expect(run.used).toBe(false);
    const check = checksOf(run, "missing-signal").find(({ message }) => message.startsWith("vehicle_pose"))!;
    expect(check.severity).toBe("unusable");
    expect(check.hint).toContain("declare the unit of the time");
  });

  test("one stray stamp years away is named", async () => {
    // 2^45 us after the start of the autopilot
    const run = await fly({
      vehicle_pose: (signal) => retimed(signal, (seconds, i) => (i === 700 ? 35_184_372 : seconds)),
    });
    const check = checksOf(run, "missing-signal").find(({ message }) => message.startsWith("vehicle_pose"))!;
    expect(check.message).toMatch(/1 of \d+ of them/);
    expect(check.hint).toContain("stray");
  });
});

test("what a sound log leaves open is reported once, with the log's name, and no damage is claimed", async () => {
  const open = {
    code: "gap",
    severity: "note",
    message: "no point has a residual",
    evidence: { readings: 7 },
    hint: "export the capture with its residuals",
  } as const;
  const run = (await evaluateFlights({ "a.bag": { ...recorded, checks: [open] } })).runs[0]!;
  expect(run.checks.filter(({ message }) => message.includes("residual"))).toMatchObject([
    { ...open, message: "a.bag: no point has a residual", evidence: { log: "a.bag", readings: 7 } },
  ]);
  expect(checksOf(run, "recovered")).toEqual([]);
});

describe("markers that do not lie where they are declared", () => {
  const markers = "{ A: [100 mm, 0 mm, 0 mm], B: [0 mm, 100 mm, 0 mm], C: [0 mm, 0 mm, 50 mm] }";
  const manifest = shortManifest(["a.bag"]).replace(
    /vehicle_pose: \{ topic: [^,]+/,
    `vehicle_pose: { markers: ${markers}`,
  );
  const fitted = (residual: number) => (signal: RecordedSignal) => ({
    ...signal,
    fit: { markers: ["A", "B", "C"], frames: 100, solved: 100, missing: 0, modelled: 0, residual },
  });

  // the farthest two are sqrt(2) * 100 mm = 141 mm apart: a twentieth is 7.1 mm
  test("a misfit of 8 mm on a body of 141 mm is doubted", async () => {
    const [check] = checksOf(await fly({ vehicle_pose: fitted(0.008) }, manifest), "frame-suspect");
    expect(check).toMatchObject({ severity: "doubt" });
    expect(check!.message).toContain("miss their declared places by 8.0 mm rms on a body of 141 mm");
  });

  test("one of 6 mm is not", async () => {
    expect(checksOf(await fly({ vehicle_pose: fitted(0.006) }, manifest), "frame-suspect")).toEqual([]);
  });
});

test("rows of a table that were left out are no sign of a recorder that was not closed", async () => {
  const recovered = "3 of 900 row(s) have more cells than the 8 columns";
  for (const [format, hint] of [
    ["table", "look at these rows"],
    ["ROS bag 2.0", "was not closed properly"],
  ] as const) {
    const run = (await evaluateFlights({ "a.log": { ...recorded, format, recovered } })).runs[0]!;
    expect(checksOf(run, "recovered")).toMatchObject([{ severity: "doubt", hint: expect.stringContaining(hint) }]);
  }
});
