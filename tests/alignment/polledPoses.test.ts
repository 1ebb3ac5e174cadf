import { expect, test } from "vitest";
import { polledPoses } from "../../src/alignment/halfFrozen.ts";
import type { PoseTrack } from "../../src/foundation/tracks.ts";
import { gather } from "../../src/numeric/sortedColumns.ts";
import { noisyFlight } from "./signals.ts";

/** Each pose as often as said, 1 ms apart. */
function written(track: PoseTrack, times: (k: number) => number): PoseTrack {
  const rows = Uint32Array.from(Array.from(track.t, (_, k) => Array<number>(times(k)).fill(k)).flat());
  const columns = Object.fromEntries(
    Object.entries(track).map(([name, column]) => [name, gather(column as Float64Array, rows)]),
  ) as unknown as PoseTrack;
  return { ...columns, t: Float64Array.from(rows, (_, i) => i / 1000) };
}

const flight = noisyFlight(251, 100, 5);

test("a log that is filled three times as fast as the capture delivers keeps each pose once, with its first stamp", () => {
  const { track, typical, dropped } = polledPoses(written(flight, () => 3))!;
  expect([...track.x]).toEqual([...flight.x]);
  expect([...track.t].slice(0, 3)).toEqual([0, 0.003, 0.006]);
  expect([typical, dropped]).toEqual([3, 2 * flight.t.length]);
});

test("so does one whose rates are no multiples: some poses stand twice, some three times", () => {
  const found = polledPoses(written(flight, (k) => 2 + (k % 2)))!;
  expect([...found.track.z]).toEqual([...flight.z]);
});

test("a stream of new poses with a frozen stretch is none of that: it is for the check to say", () => {
  expect(polledPoses(flight)).toBeNull();
  expect(polledPoses(written(flight, (k) => (k === 100 ? 200 : 1)))).toBeNull();
  expect(polledPoses(written(flight, (k) => (k % 3 === 0 ? 2 : 1)))).toBeNull();
});

test("a stream that stands still throughout has too few poses to tell", () => {
  expect(polledPoses(written(noisyFlight(252, 10, 2), (k) => (k === 0 ? 500 : 1)))).toBeNull();
});
