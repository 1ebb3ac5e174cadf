import { describe, expect, test } from "vitest";
import {
  decimalsFor,
  fixed,
  instantText,
  intervalText,
  lengthText,
  massText,
  percentText,
  probabilityText,
  probabilityValue,
  signed,
  signedMillimetres,
  typeset,
} from "../../client/app/words.ts";
import { joinWords } from "../../src/words/amounts.ts";

describe("numbers as a person reads them", () => {
  test("in a sentence of the program minus signs and quotes are those of the pages; names keep their hyphens", () => {
    expect(typeset('"Arm alone": -1.2 mm [-2, -0.4] in flight-03, 5-6 runs of 2026-05-04')).toBe(
      "“Arm alone”: −1.2 mm [−2, −0.4] in flight-03, 5-6 runs of 2026-05-04",
    );
  });

  test("carry a true minus sign and never a minus before nothing", () => {
    expect(fixed(-1.75, 1)).toBe("−1.8");
    expect(fixed(-0.04, 1)).toBe("0.0");
    expect(signed(-0.04, 1)).toBe("0.0");
    expect(signed(0, 0)).toBe("0");
    expect(signed(0.26, 1)).toBe("+0.3");
    expect(signed(-3.63, 1)).toBe("−3.6");
  });

  test("turn metres into millimetres, differences and intervals with their signs", () => {
    expect(signedMillimetres(-0.0036305, 1)).toBe("−3.6");
    expect(signedMillimetres(null, 1)).toBe("–");
    expect(intervalText([-0.0044329, -0.0028281], "m", 1)).toBe("[−4.4, −2.8]");
    expect(intervalText([-0.0010076, 0.0013616], "m", 1)).toBe("[−1.0, +1.4]");
    expect(lengthText(0.0015)).toBe("1.5 mm");
    expect(lengthText(0.002)).toBe("2 mm");
    expect(lengthText(0.00025)).toBe("0.25 mm");
    expect(lengthText(0.15)).toBe("150 mm");
    expect(massText(0.54)).toBe("540 g");
    expect(percentText(-0.549)).toBe("−55 %");
    expect(percentText(0.068)).toBe("+6.8 %");
  });

  // the rule of the Particle Data Group for the digits of an uncertainty (Review of Particle Physics, introduction): first
  // three digits up to 354 keep two, above that one; without its third range (950 to 999)
  test("have no more digits than their uncertainty warrants", () => {
    expect(decimalsFor(0.0008)).toBe(1);
    expect(decimalsFor(0.0016)).toBe(1);
    expect(decimalsFor(0.000354)).toBe(2);
    expect(decimalsFor(0.000356)).toBe(1);
    expect(decimalsFor(0.005)).toBe(0);
    expect(decimalsFor(0.05)).toBe(0);
    expect(decimalsFor(0.0000002)).toBe(3);
    expect(decimalsFor(0)).toBe(1);
    expect(decimalsFor(Number.NaN)).toBe(1);
  });

  test("never round a p onto 0.05 or across it", () => {
    expect(probabilityText(0.0123)).toBe("p 0.012");
    expect(probabilityText(0.0499)).toBe("p 0.0499");
    expect(probabilityText(0.0501)).toBe("p 0.0501");
    expect(probabilityText(0.05)).toBe("p 0.05");
    expect(probabilityText(0.0004)).toBe("p < 0.001");
    expect(probabilityValue(1)).toBe("1");
    expect(probabilityValue(null)).toBe("–");
    for (let k = 1; k < 2000; k++) {
      const p = 0.04 + (0.02 * k) / 2000;
      expect(Math.sign(Number(probabilityValue(p)) - 0.05)).toBe(Math.sign(p - 0.05));
    }
  });

  test("and words: lists, instants", () => {
    expect(joinWords(["x"])).toBe("x");
    expect(joinWords(["x", "y", "z"])).toBe("x, y and z");
    // 2025-10-14T08:10:37Z, as `date -u -d @1760429437` says
    expect(instantText("1760429437000000000")).toBe("2025-10-14 08:10");
    expect(instantText("before lunch")).toBe("before lunch");
  });
});
