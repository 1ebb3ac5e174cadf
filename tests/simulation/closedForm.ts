import type { FlightSettings } from "../../src/simulation/flightShape.ts";
import { gravity } from "../../src/simulation/plant.ts";

export interface Complex {
  readonly re: number;
  readonly im: number;
}
const c = (re: number, im = 0): Complex => ({ re, im });
const add = (...all: Complex[]): Complex => all.reduce((a, b) => c(a.re + b.re, a.im + b.im));
const mul = (a: Complex, b: Complex): Complex => c(a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re);
const times = (k: number, a: Complex): Complex => c(k * a.re, k * a.im);
const div = (a: Complex, b: Complex): Complex => {
  const square = b.re * b.re + b.im * b.im;
  return c((a.re * b.re + a.im * b.im) / square, (a.im * b.re - a.re * b.im) / square);
};
export const magnitude = (a: Complex): number => Math.hypot(a.re, a.im);

/**
 * Steady answer to a unit sinusoidal travel command, from the equations of motion in the frequency domain, written out by
 * hand and independent of the simulation's matrices. s = j omega; mu = moving mass x fraction.
 *
 *   servo   S = ws^2 / (s^2 + 2 zs ws s + ws^2)
 *   force   F = -mu (1 - beta) s^2 S
 *   torque  T = -mu (ra - beta rc) x e s^2 S, and gravity: roll -mu (1 - beta_y) g S, pitch +mu (1 - beta_x) g S
 *   tilt    D = I s^2 + I0 (2 za wa s + wa^2);  sideways: sign s^2 p = g tilt ...
 */
export function responseToArm(settings: FlightSettings, omega: number, axis: number, answer: string): Complex {
  const { vehicle, arm, balance, counterweights } = settings;
  const s = c(0, omega);
  const s2 = mul(s, s);
  const ws = 2 * Math.PI * arm.servoFrequency;
  const servo = div(c(ws * ws), add(s2, times(2 * arm.servoDamping * ws, s), c(ws * ws)));
  const acceleration = mul(s2, servo);
  const mu = arm.movingMass * arm.massFraction;
  const beta = balance[axis]!;
  const weight = counterweights.reduce((sum, w) => sum + w.mass, 0);
  const mass = vehicle.mass + weight;
  const centre = [0, 1, 2].map((i) => counterweights.reduce((sum, w) => sum + w.mass * w.at[i]!, 0) / (weight || 1));
  const lever = [0, 1, 2].map((i) => arm.centre[i]! - beta * centre[i]!);
  const added = (i: number, j: number): number =>
    counterweights.reduce((sum, w) => sum + w.mass * (w.at[i]! ** 2 + w.at[j]! ** 2), 0);
  const force = times(-mu * (1 - beta), acceleration);
  // lever x unit vector of the axis
  const crossed =
    axis === 0 ? [0, lever[2]!, -lever[1]!] : axis === 1 ? [-lever[2]!, 0, lever[0]!] : [lever[1]!, -lever[0]!, 0];
  const torque = (about: number): Complex => times(-mu * crossed[about]!, acceleration);
  const pid = (loop: FlightSettings["vehicle"]["verticalLoop"]): Complex => {
    const w = 2 * Math.PI * loop.frequency;
    return add(c(w * w), times(2 * loop.damping * w, s), div(c(w * w * loop.integral), s));
  };
  const turning = (bare: number, all: number, loop: FlightSettings["vehicle"]["verticalLoop"]): Complex => {
    const w = 2 * Math.PI * loop.frequency;
    return add(times(all, s2), times(bare, add(times(2 * loop.damping * w, s), c(w * w))));
  };
  const wa = 2 * Math.PI * vehicle.attitudeLoop.frequency;
  const pushed = (on: number): Complex => (axis === on ? times(1 / mass, force) : c(0));

  if (answer === "z") return div(pushed(2), add(s2, times(vehicle.mass / mass, pid(vehicle.verticalLoop))));
  if (answer === "yaw by y")
    return div(torque(2), turning(vehicle.inertia[2], vehicle.inertia[2] + added(0, 1), vehicle.yawLoop));

  // sideways: position p, tilt q; s^2 p = sign g q + F/M; D q = T - sign I0 wa^2 PID p / g
  const sideways = answer === "y" ? 1 : 0;
  const about = sideways === 1 ? 0 : 1;
  const sign = sideways === 1 ? -1 : 1;
  const bare = vehicle.inertia[about]!;
  const inertia = bare + (about === 0 ? added(1, 2) : added(0, 2));
  const pull = axis === sideways ? times(sign * mu * (1 - beta) * gravity, servo) : c(0);
  const moment = add(torque(about), pull);
  const stiff = turning(bare, inertia, vehicle.attitudeLoop);
  const loop = times(bare * wa * wa, pid(vehicle.horizontalLoop));
  const position = div(add(pushed(sideways), times(sign * gravity, div(moment, stiff))), add(s2, div(loop, stiff)));
  if (!answer.startsWith("pitch")) return position;
  return div(add(moment, times(-sign / gravity, mul(loop, position))), stiff);
}
