import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { addressOf, placeAt } from "../../client/app/address.ts";
import type { Place } from "../../client/app/View.ts";

const name = fc.string({ minLength: 1, maxLength: 40, unit: "grapheme" });
const subject = fc.constantFrom("vehicle" as const, "effector" as const, "arm" as const);
const metric = fc.constantFrom("rms" as const, "range" as const, "sd" as const, "synchronous" as const);
const window = fc
  .tuple(fc.double({ min: -1e4, max: 1e4, noNaN: true }), fc.double({ min: 1e-3, max: 1e4, noNaN: true }))
  .map(([from, length]) => [from + 0, from + length] as const)
  .filter(([from, to]) => from < to);
const place: fc.Arbitrary<Place> = fc.oneof(
  fc.record({ page: fc.constant("answer" as const), metric: fc.option(metric) }),
  fc.record({
    page: fc.constant("answer" as const),
    metric: fc.option(metric),
    runs: fc
      .record(
        {
          sort: name,
          down: fc.constant(true as const),
          find: name,
          use: fc.constantFrom("used" as const, "left-out" as const, "doubted" as const),
          grouped: fc.constant(true as const),
          drawn: name,
        },
        { requiredKeys: ["sort"] },
      )
      .map(({ sort, ...rest }) => ({ sort, ...rest })),
  }),
  fc.record({
    page: fc.constant("cell" as const),
    trajectory: name,
    subject,
    axis: fc.constantFrom("x" as const, "y" as const, "z" as const),
    metric,
  }),
  fc.record({ page: fc.constant("run" as const), run: name, subject, window: fc.option(window) }),
  fc.record({ page: fc.constant("synchronous" as const), trajectory: name, subject }),
  fc.record({
    page: fc.constant("synchronous" as const),
    trajectory: name,
    subject,
    harmonic: fc.integer({ min: 1, max: 9 }),
    ownScales: fc.constant(true as const),
  }),
  fc.record({ page: fc.constant("compare" as const), first: name, second: name, subject }),
  fc.record({
    page: fc.constantFrom("why" as const, "bench" as const, "audit" as const, "setup" as const, "check" as const),
  }),
  fc.record({
    page: fc.constant("plan" as const),
    runs: fc.option(fc.nat(40)),
    blocks: fc.option(fc.nat(20)),
    seed: fc.option(fc.nat(4_294_967_295)),
    sham: fc.boolean(),
  }),
);

describe("the address of a place", () => {
  test("leads back to the same place, whatever names people choose", () => {
    fc.assert(
      fc.property(place, (there) => {
        expect(placeAt(addressOf(there))).toEqual(there);
      }),
      { seed: 20_251_014, numRuns: 500 },
    );
  });

  test("survives the address bar: a URL keeps it as it is", () => {
    fc.assert(
      fc.property(place, (there) => {
        const kept = new URL(addressOf(there), "http://127.0.0.1:4270/").hash;
        expect(placeAt(kept)).toEqual(there);
      }),
      { seed: 20_251_016, numRuns: 500 },
    );
  });

  test("reads as a person would write it", () => {
    const cell = { page: "cell", trajectory: "orbit", subject: "vehicle", axis: "y", metric: "rms" } as const;
    expect(addressOf(cell)).toBe("#/cell/orbit/vehicle/y/rms");
    expect(placeAt("")).toEqual({ page: "answer", metric: null });
    expect(placeAt("#/")).toEqual({ page: "answer", metric: null });
    expect(addressOf({ page: "plan", runs: 8, blocks: null, seed: null, sham: true })).toBe("#/plan?runs=8&sham=yes");
    expect(placeAt("#/plan?runs=eight")).toEqual({ page: "plan", runs: null, blocks: null, seed: null, sham: false });
    expect(placeAt("#/why")).toEqual({ page: "why" });
    expect(placeAt("#/why/more")).toBeNull();
    expect(placeAt("#/run/flight-01")).toEqual({ page: "run", run: "flight-01", subject: "vehicle", window: null });
    expect(placeAt("#/synchronous/orbit")).toBeNull();
    expect(placeAt("#/?metric=sd")).toEqual({ page: "answer", metric: "sd" });
  });

  test("is no place where a part is unknown, missing or too much", () => {
    for (const address of [
      "#/?metric=median",
      "#/elsewhere",
      "#/cell/orbit/vehicle/y",
      "#/cell/orbit/vehicle/w/rms",
      "#/cell/orbit/motor/x/rms",
      "#/cell/orbit/vehicle/y/rms/more",
      "#/run//vehicle",
      "#/run/flight-01/vehicle/extra",
      "#/run/%E0%A4%A/vehicle",
      "#/synchronous/orbit",
    ]) {
      expect(placeAt(address), address).toBeNull();
    }
  });

  test("leaves a window out that is none: the whole run is shown", () => {
    for (const query of [
      "from=5&to=5",
      "from=9&to=3",
      "from=a&to=3",
      "from=1",
      "to=4",
      "from=&to=4",
      "from=1&to=Infinity",
    ]) {
      expect(placeAt(`#/run/flight-01/vehicle?${query}`), query).toEqual({
        page: "run",
        run: "flight-01",
        subject: "vehicle",
        window: null,
      });
    }
  });
});
