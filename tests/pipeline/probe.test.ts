import { test } from "vitest";
import { compareWithTruth } from "./againstTruth.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
test("x", async () => {
  const s = flightSettings({ trajectory: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 12, rampIn: 0 } });
  for (const seed of [2073, 2001,2002,2003,2004,2005,2006,2007,2008,2009,2010,2011,2012]) { const c = await compareWithTruth(s, seed); console.log(seed, (c.startError*1e3).toFixed(3), ((c.periodRatio-1)*1e6).toFixed(2)); }
}, 100000);
