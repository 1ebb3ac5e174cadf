import { describe, expect, test } from "vitest";
import type { FoundLog } from "../../../src/pipeline/inspect/foundLog.ts";
import { pairLogs } from "../../../src/pipeline/inspect/pairLogs.ts";

/** A log by its path; `at` is when it was begun, Unix seconds, and it lasted a minute. */
function log(path: string, at: number | null = null): FoundLog {
  const start = at === null ? "5000000000" : `${at}000000000`;
  return {
    log: {
      path,
      bytes: 1,
      format: "table",
      error: null,
      start,
      duration: 60,
      messages: 1,
      recovered: null,
      dropouts: null,
      signals: [],
      same_as: null,
    },
    signals: [],
    unknown: [],
    still: false,
    content: null,
    up: null,
    candidates: [],
    roles: new Map(),
    flights: [],
    sight: null,
    offsetError: null,
    gyroApart: false,
    turning: null,
  };
}

const paired = (captures: readonly FoundLog[], onboard: readonly FoundLog[]) => {
  const { pairs, by } = pairLogs(captures, onboard);
  return { pairs: pairs.map((pair) => pair.map((one) => one.log.path)), by };
};
const named = (...paths: string[]): FoundLog[] => paths.map((path) => log(path));

describe("captures and onboard logs", () => {
  test("are paired by the numbers in their names, and one that is missing shifts no other", () => {
    expect(paired(named("take 01.c3d", "take 02.c3d", "take 03.c3d"), named("log1.ulg", "log3.ulg"))).toEqual({
      pairs: [
        ["take 01.c3d", "log1.ulg"],
        ["take 03.c3d", "log3.ulg"],
      ],
      by: "by the numbers in their names",
    });
    // as many of each, but not of the same flights
    expect(paired(named("a1.csv", "a2.csv", "a3.csv"), named("b1.ulg", "b2.ulg", "b4.ulg")).pairs).toEqual([
      ["a1.csv", "b1.ulg"],
      ["a2.csv", "b2.ulg"],
    ]);
  });

  test("the 3 of .c3d and of .db3 is no number of theirs", () => {
    expect(paired(named("a.c3d"), named("log 3.ulg")).by).toBe("as the only two");
  });

  test("by the last number where one has a date in its name", () => {
    expect(
      paired(named("2025-10-14_take_7.c3d", "2025-10-14_take_8.c3d"), named("px4_8.ulg", "px4_7.ulg", "px4_9.ulg")),
    ).toEqual({
      pairs: [
        ["2025-10-14_take_7.c3d", "px4_7.ulg"],
        ["2025-10-14_take_8.c3d", "px4_8.ulg"],
      ],
      by: "by the last number in their names",
    });
  });

  test("by folders that hold one of each", () => {
    expect(
      paired(named("calm/mocap.csv", "gusty/mocap.csv", "still/mocap.csv"), named("gusty/log_2.ulg", "calm/log_9.ulg")),
    ).toEqual({
      pairs: [
        ["calm/mocap.csv", "calm/log_9.ulg"],
        ["gusty/mocap.csv", "gusty/log_2.ulg"],
      ],
      by: "by their folders",
    });
  });

  test("by time before all else, where both know the date", () => {
    const t = 1_760_432_400;
    const captures = [log("1.bag", t), log("2.bag", t + 600), log("3.bag", t + 1200)];
    // numbered the other way round; the first was begun 20 s late, of the last nothing was captured
    const onboard = [log("1.mcap", t + 1190), log("2.mcap", t + 5000), log("3.mcap", t + 20)];
    expect(paired(captures, onboard)).toEqual({
      pairs: [
        ["1.bag", "3.mcap"],
        ["3.bag", "1.mcap"],
      ],
      by: "by the time at which they were recorded",
    });
  });

  test("never by the order of their names, be there as many of each", () => {
    const captures = named("calm.csv", "gusty.csv");
    expect(paired(captures, named("morning.ulg", "noon.ulg")).pairs).toEqual([]);
    expect(paired(captures, named("dusk.ulg", "morning.ulg", "noon.ulg")).pairs).toEqual([]);
    // one number in common among three is chance: the autopilot numbers its logs by itself
    expect(paired(named("1.c3d", "2.c3d", "3.c3d"), named("log3.ulg", "log4.ulg", "log5.ulg")).pairs).toEqual([]);
  });

  test("and never where both say that they were recorded at different times, whatever they are called", () => {
    const t = 1_760_432_400;
    expect(paired([log("flight 1/a.bag", t)], [log("flight 1/b.ulg", t + 600)]).pairs).toEqual([]);
    expect(
      paired([log("1.bag", t), log("2.bag", t + 300)], [log("1.mcap", t + 9000), log("2.mcap", t + 9300)]).pairs,
    ).toEqual([]);
  });
});
