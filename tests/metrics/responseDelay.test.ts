import { describe, expect, test } from "vitest";
import { type DelayOptions, type Response, responseDelay } from "../../src/metrics/responseDelay.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

const options: DelayOptions = { from: -0.2, to: 1, rival: 0.1, leastMotion: 1e-3 };
const zero = (n: number): Float64Array => new Float64Array(n);

/** A path in time, constant before `from` and after `to`. */
type Path = (t: number) => readonly [number, number, number];
const circle: Path = (t) => {
  const theta = (2 * Math.PI * Math.min(Math.max(t - 10, 0), 18)) / 1.5;
  return [0, 0.06 * Math.cos(theta), 0.06 * Math.sin(theta)];
};
const line: Path = (t) => {
  const theta = (2 * Math.PI * Math.min(Math.max(t - 10, 0), 19)) / 1.9;
  return [0.075 * (1 - Math.cos(theta)), 0, 0];
};

/** Commands at 50 Hz and poses at 100 Hz over 40 s that follow `path` a delay later, each with its own phase of sampling. */
function follow(path: Path, delay: number, noise = 0, seed = 1): Response {
  const random = seededRandom(seed);
  const commandTimes = Float64Array.from({ length: 2000 }, (_, i) => i / 50);
  const t = Float64Array.from({ length: 3990 }, (_, i) => 0.0037 + i / 100);
  const column = (at: Float64Array, shift: number, axis: number, sd: number): Float64Array =>
    at.map((time) => path(time - shift)[axis]! + (sd === 0 ? 0 : sd * random.normal()));
  return {
    t,
    measured: [column(t, delay, 0, noise), column(t, delay, 1, noise), column(t, delay, 2, noise)],
    commandTimes,
    command: [column(commandTimes, 0, 0, 0), column(commandTimes, 0, 1, 0), column(commandTimes, 0, 2, 0)],
  };
}

describe("a known delay, with starts and stops", () => {
  for (const [name, path] of [
    ["circle", circle],
    ["line", line],
  ] as const) {
    test.each([0, 0.0333, 0.0617, 0.25, -0.081])(`of a ${name}, %f s, is found to 0.1 ms`, (delay) => {
      expect(Math.abs(responseDelay(follow(path, delay), options)! - delay)).toBeLessThan(1e-4);
    });
  }

  test("noise of 0.2 mm on a circle moves it by no more than its information allows", () => {
    // sd of a shift = sigma / (speed root n): 0.2 mm / (0.251 m/s root 1800) = 19 us; five of them, and 0.02 ms for the grid
    for (let seed = 1; seed <= 10; seed++)
      expect(Math.abs(responseDelay(follow(circle, 0.07, 2e-4, seed), options)! - 0.07)).toBeLessThan(1.2e-4);
  });
});

describe("an unknown delay is null", () => {
  test("where the command moves less than asked: 5 noise sd", () => {
    const small: Path = (t) => [0, 0.01 * circle(t)[1], 0.01 * circle(t)[2]];
    // radius 0.6 mm: root mean square about its mean 0.6 mm
    expect(responseDelay(follow(small, 0.05), { ...options, leastMotion: 7e-4 })).toBeNull();
    expect(responseDelay(follow(small, 0.05), { ...options, leastMotion: 5e-4 })).not.toBeNull();
  });

  test("where the command never moves, or there are no samples", () => {
    const still: Path = () => [1, 2, 3];
    expect(responseDelay(follow(still, 0), options)).toBeNull();
    const empty = follow(circle, 0);
    expect(responseDelay({ ...empty, t: zero(0), measured: [zero(0), zero(0), zero(0)] }, options)).toBeNull();
  });

  test("where a cyclic command without starts and stops fits nearly as well a period later", () => {
    // period 0.5 s: a delay of 0.1 s is as good as 0.6 s, but for noise
    const endless: Path = (t) => [0, 0.06 * Math.cos(4 * Math.PI * t), 0.06 * Math.sin(4 * Math.PI * t)];
    expect(responseDelay(follow(endless, 0.1, 2e-4), options)).toBeNull();
  });

  test("where the rival minimum is 8 per cent worse, but not where it is 20 per cent worse", () => {
    // y follows with 0.1 s, and an axis that the command does not move adds noise of a known size to every shift:
    // two steps of unlike size, the smaller of which leaves the rival's cost
    const cost = (share: number): number | null => {
      const response = follow((t) => [0, 0.06 * Math.cos(4 * Math.PI * t) + (t > 20 ? share : 0), 0], 0.1);
      // 30 mm to and fro from sample to sample along x: 9e-4 m2 about its mean at every shift (a standing offset is
      // bias, and does not count)
      const standing = response.t.map((_, i) => (i % 2 === 0 ? 0.03 : -0.03));
      return responseDelay({ ...response, measured: [standing, response.measured[1], response.measured[2]] }, options);
    };
    // one period later, the step of size s is missed for 0.5 s of about 40 s: s^2 / 80 more than 9e-4 m2 plus nothing;
    // 8 % of 9e-4 needs s = 76 mm, 20 % needs s = 120 mm
    expect(cost(Math.sqrt(0.08 * 9e-4 * 80))).toBeNull();
    expect(Math.abs(cost(Math.sqrt(0.2 * 9e-4 * 80))! - 0.1)).toBeLessThan(1e-3);
  });

  test("where the best shift lies at the end of the range", () => {
    expect(responseDelay(follow(line, 1.3), options)).toBeNull();
    expect(responseDelay(follow(line, -0.4), options)).toBeNull();
  });
});

test("a command that is not given for a while (NaN) is left out, not taken for 0", () => {
  const response = follow(circle, 0.05);
  const masked = response.command.map((column) =>
    column.map((value, i) => (i > 800 && i < 900 ? Number.NaN : value)),
  ) as unknown as Response["command"];
  expect(Math.abs(responseDelay({ ...response, command: masked }, options)! - 0.05)).toBeLessThan(1e-4);
});
