import { describe, expect, test } from "vitest";
import {
  discArea,
  enduranceAsBattery,
  idealHoverPower,
  leadDrop,
  massForEndurance,
  thrustAt,
} from "../../../src/comparison/costs/hoverLaw.ts";
import { armTravel, inertiaChange, spreadMoment } from "../../../src/comparison/costs/massMoved.ts";
import { attitudeAuthority, rotorLoads } from "../../../src/comparison/costs/rotorLoads.ts";
import { standardGravity as g } from "../../../src/foundation/units.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";

describe("hover by the actuator disc", () => {
  // Rankine-Froude for one rotor of radius 0.6 m under 120 N: v = sqrt(T / (2 rho A)), P = T v, by arithmetic of five digits
  test("the ideal power of 120 N on a disc of 0.6 m radius is 789.70 W, with a figure of merit of 0.72 1096.81 W", () => {
    const area = discArea(1, 1.2, false);
    expect(area).toBeCloseTo(1.13097, 5);
    expect(120 / area).toBeCloseTo(106.1, 2);
    expect(idealHoverPower(120, area, 1.225)).toBeCloseTo(789.7, 2);
    expect(idealHoverPower(120, area, 1.225) / 120).toBeCloseTo(6.5808, 4);
    expect(idealHoverPower(120, area, 1.225) / 0.72).toBeCloseTo(1096.81, 2);
  });

  test("coaxial pairs share a disc", () => {
    expect(discArea(8, 0.33, true)).toBeCloseTo(discArea(4, 0.33, false), 15);
  });

  // arithmetic: (5.14 / 4.6)^1.5 = 1.1812, its inverse 0.8466
  test("540 g on 4.6 kg cost 18 % of the power and 15.3 % of the endurance", () => {
    const ratio = idealHoverPower(5.14 * g, 0.5, 1.2) / idealHoverPower(4.6 * g, 0.5, 1.2);
    expect(ratio).toBeCloseTo(1.1812, 4);
    expect(1 / ratio - 1).toBeCloseTo(-0.153, 3);
    expect(massForEndurance(4.6, 600, 600 / ratio)).toBeCloseTo(5.14, 12);
  });

  // dt/dm = 0 of m_b / (m_0 + m_b)^1.5 at m_b = 2 m_0: the pack is two thirds of the whole
  test("endurance is longest where two thirds of the whole are battery", () => {
    const [body, least] = [2, 0.1];
    const at = (battery: number): number => enduranceAsBattery(body + least, least, battery - least);
    const best = Array.from({ length: 900 }, (_, k) => 0.5 + k / 100).reduce((a, b) => (at(b) > at(a) ? b : a));
    expect(best / (best + body)).toBeCloseTo(2 / 3, 2);
    expect(at(3.99)).toBeLessThan(at(4));
    expect(at(4.01)).toBeLessThan(at(4));
  });

  test("thrust at a lower voltage: the square of one number, a table read on its own line", () => {
    expect(thrustAt([{ voltage: 16.8, thrust: 92 }], 14, 2)).toBeCloseTo(92 * (14 / 16.8) ** 2, 12);
    const table = [
      { voltage: 16.8, thrust: 92 },
      { voltage: 14, thrust: 66 },
    ];
    expect(thrustAt(table, 16.8, 2)).toBeCloseTo(92, 12);
    expect(thrustAt(table, 14, 2)).toBeCloseTo(66, 12);
    // halfway in log voltage the thrust is the geometric mean of both
    expect(thrustAt(table, Math.sqrt(16.8 * 14), 2)).toBeCloseTo(Math.sqrt(92 * 66), 12);
    expect(thrustAt(table, 12, 2)).toBeCloseTo(66 * (12 / 14) ** 2, 12);
    expect(thrustAt(table, 17, 2)).toBeCloseTo(92 * (17 / 16.8) ** 2, 12);
  });

  // 100 mm further, 2.5 mm^2: 2 x 0.1 m x 1.7241e-8 / 2.5e-6 = 1.379 mOhm, at 30 A 41.4 mV
  test("a lead that is 100 mm longer loses 41 mV at 30 A", () => {
    expect(leadDrop(0.1, 2.5e-6, 30)).toBeCloseTo(0.0414, 4);
  });
});

describe("rotor loads and attitude authority", () => {
  // statics: 5.14 kg, 10 mm forward, six rotors on 0.35 m, one of them ahead
  test("10 mm forward put 8.8811 N on the rotor ahead and 7.9210 N on the one behind", () => {
    const { highest, lowest } = rotorLoads({ places: 6, radius: 0.35, first: 0 }, 5.14 * g, [0.01, 0]);
    expect(highest).toBeCloseTo(8.8811, 4);
    expect(lowest).toBeCloseTo(7.92097, 5);
    expect((5.14 * g) / 6).toBeCloseTo(8.401, 4);
  });

  test("loads carry the weight and balance its moment, wherever the first rotor and the mass stand", () => {
    const random = seededRandom(7);
    for (let k = 0; k < 200; k++) {
      const places = 3 + Math.floor(6 * random.uniform());
      const [radius, first] = [0.2 + random.uniform(), 7 * random.uniform()];
      const offset = [0.02 * random.normal(), 0.02 * random.normal()] as const;
      const circle = { places, radius, first };
      const { highest, lowest } = rotorLoads(circle, 40, offset);
      // by least norm: the smallest thrusts that add up, solved as T = a + b cos + c sin from three equations
      const phi = Array.from({ length: places }, (_, i) => first + (2 * Math.PI * i) / places);
      const loads = phi.map(
        (angle) =>
          40 / places + (2 * 40 * (offset[0] * Math.cos(angle) + offset[1] * Math.sin(angle))) / (places * radius),
      );
      const about = (part: (angle: number) => number): number =>
        loads.reduce((sum, load, i) => sum + load * radius * part(phi[i]!), 0);
      expect(about(Math.cos)).toBeCloseTo(40 * offset[0], 10);
      expect(about(Math.sin)).toBeCloseTo(40 * offset[1], 10);
      expect(Math.max(...loads)).toBeCloseTo(highest, 10);
      expect(Math.min(...loads)).toBeCloseTo(lowest, 10);
      const worst = rotorLoads({ ...circle, first: null }, 40, offset);
      expect(worst.highest).toBeGreaterThanOrEqual(highest - 1e-12);
      expect(worst.lowest).toBeLessThanOrEqual(lowest + 1e-12);
    }
  });

  // four rotors in a cross of arms of 0.2 m, 5 N spare each, J 0.02: plus has two rotors that roll, X has four at sin 45 deg
  test("a plus rolls with two rotors, an X with four at 45 degrees", () => {
    const loads = { highest: 5, lowest: 5 };
    const plus = attitudeAuthority({ places: 4, radius: 0.2, first: 0 }, 10, loads, [0.02, 0.04]);
    expect(plus.roll).toBeCloseTo((5 * 0.2 * 2) / 0.02, 10);
    expect(plus.pitch).toBeCloseTo((5 * 0.2 * 2) / 0.04, 10);
    const cross = attitudeAuthority({ places: 4, radius: 0.2, first: Math.PI / 4 }, 10, loads, [0.02, 0.04]);
    expect(cross.roll).toBeCloseTo((5 * 0.2 * 4 * Math.SQRT1_2) / 0.02, 10);
  });

  test("the least over unknown azimuths is that of a fine search, for 3 to 9 places", () => {
    for (let places = 3; places < 10; places++) {
      const of = (first: number | null): number =>
        attitudeAuthority({ places, radius: 1, first }, 2, { highest: 1, lowest: 1 }, [1, 1]).roll;
      const searched = Math.min(...Array.from({ length: 2521 }, (_, k) => of((2 * Math.PI * k) / (2520 * places))));
      expect(of(null)).toBeCloseTo(searched, 6);
    }
  });

  test("no thrust left, no authority", () => {
    const none = attitudeAuthority({ places: 6, radius: 0.3, first: null }, 8, { highest: 8.5, lowest: 8 }, [1, 1]);
    expect(none).toEqual({ roll: 0, pitch: 0 });
  });
});

describe("what moving and adding mass does to inertia", () => {
  // two halves of 1 kg at +-0.1 m on x, one moved: point masses by hand
  test("a weight beside the centre of mass adds the reduced mass times its distance squared", () => {
    // 4 kg at the origin, 1 kg at x = 0.5: about the common centre J_yy grows by (4 x 1 / 5) x 0.25
    const [jx, jy, jz] = inertiaChange(4, [0, 0, 0], [0.1, 0, 0], [{ mass: 1, at: [0.5, 0, 0] }]);
    expect(jx).toBeCloseTo(0, 15);
    expect(jy).toBeCloseTo(0.2, 15);
    expect(jz).toBeCloseTo(0.2, 15);
  });

  // m (r2^2 - r1^2) of a battery moved from one side of the centre to a place farther out, less the shift of the whole
  test("a moved battery changes inertia by m (r2^2 - r1^2), less m_b times the shift squared", () => {
    const [mass, own, from, to] = [4.6, 0.27, 0.04, -0.14];
    const shift = (own * (to - from)) / mass;
    const [, jy] = inertiaChange(
      mass,
      [0, 0, 0],
      [shift, 0, 0],
      [{ mass: own, at: [to, 0, 0], movedFrom: [from, 0, 0] }],
    );
    expect(jy).toBeCloseTo(own * (to ** 2 - from ** 2) - mass * shift ** 2, 12);
  });

  // 2 % of 270 g = 5.4 g; at 75 mm and a travel of -1.07: 0.43 g m
  test("packs of 270 g that differ by 2 % make 0.43 g m at 75 mm and a travel of -1.07", () => {
    const reach = armTravel({
      reach: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 10 },
      turn: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, period: 1.5, cycles: 12 },
    });
    expect(reach).toEqual([0.075, 0.06, 0.06]);
    expect(spreadMoment(0.02 * 0.27, [-1.07, 0, 0], reach)).toBeCloseTo(0.43e-3, 5);
    expect(spreadMoment(0.02 * 0.27, undefined, reach)).toBeNull();
  });
});
