import type { Campaign } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { axes, subjects } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { mean } from "../numeric/descriptive.ts";
import { joinWords } from "../words/amounts.ts";
import type { ArmSeen } from "./armSeen.ts";
import type { MeasuredRun } from "./measureOne.ts";
import { isClear, labels, type StepFound, stepOf } from "./stepOf.ts";

/** What steps with the configuration in how the capture shows the arm: its size, or the way it is turned. */
export const stepsOfArm = (campaign: Campaign, runs: readonly MeasuredRun[], settings: Settings): Check[] => [
  ...scales(campaign, runs, settings),
  ...turns(campaign, runs, settings),
  ...followings(campaign, runs, settings),
];

function armStep(campaign: Campaign, runs: readonly MeasuredRun[], of: (arm: ArmSeen) => number | null) {
  const figures = runs.flatMap((run) => {
    const value = run.arm === null ? null : of(run.arm);
    return value === null ? [] : [{ run, value }];
  });
  return stepOf(campaign, figures, false);
}

/** The rigid distance and the commanded motion by the same factor: one is a marker's slip, or the servo's doing; both are the capture. */
function scales(campaign: Campaign, runs: readonly MeasuredRun[], settings: Settings): Check[] {
  const reach = armStep(campaign, runs, (arm) => Math.log(arm.reach));
  const gain = armStep(campaign, runs, (arm) => Math.log(arm.gain));
  if (!isClear(reach, settings.scale_apart, settings) || !isClear(gain, settings.scale_apart, settings)) return [];
  const apart = Math.abs(reach.size - gain.size);
  const error = Math.hypot(reach.standardError, gain.standardError);
  if (apart > Math.max(3 * error, scaleAlike * Math.abs(reach.size))) return [];
  const [candidate, baseline] = labels(campaign);
  const percent = (size: number): string => `${(100 * Math.expm1(size)).toFixed(1)} %`;
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `the capture is larger in the runs of ${candidate} than in those of ${baseline}: the distance of tool and vehicle while the arm rests by ${percent(reach.size)}, the arm's path against its command by ${percent(gain.size)}: its scale was calibrated otherwise, and every error grows with it`,
      evidence: { reach_share: reach.size, gain_share: gain.size, reach_p: reach.p, gain_p: gain.p },
      hint: "calibrate the capture once for both configurations, with a wand of known length; fly these runs again, or leave them out",
      touches: { subjects, part: "all" },
    },
  ];
}

/** Two sights of one scale agree to this share of it. */
const scaleAlike = 0.3;

/** The tool's place in the vehicle's frame moves by less than this share of what the turn moves it by: vehicle and tool turned together. */
const together = 0.5;

const cross = ([a, b, c]: Vector3, [x, y, z]: Vector3): Vector3 => [b * z - c * y, c * x - a * z, a * y - b * x];

/**
 * Vehicle and tool as one turned otherwise while the arm rests: the capture was, or the vehicle hovers so. Markers that were
 * defined otherwise turn one of the two alone, so that the tool's place in the vehicle's frame shows it.
 */
function turns(campaign: Campaign, runs: readonly MeasuredRun[], settings: Settings): Check[] {
  const seen = runs.flatMap(({ arm }) => arm ?? []);
  const steps = axes.map((_, axis) => armStep(campaign, runs, ({ turn }) => turn && turn[axis]!));
  const clear = steps.map((step): StepFound | null => (isClear(step, settings.turn_apart, settings) ? step : null));
  if (clear.every((step) => step === null)) return [];
  const turn = clear.map((step) => step?.size ?? 0) as unknown as Vector3;
  const slipped = axes.map((_, axis) => armStep(campaign, runs, ({ place }) => place[axis]!)?.size ?? 0);
  const usual = (of: (arm: ArmSeen) => number): number => mean(Float64Array.from(seen, of));
  const place = axes.map((_, axis) => usual((arm) => arm.place[axis]!)) as unknown as Vector3;
  if (Math.hypot(...slipped) > together * Math.hypot(...cross(turn, place))) return [];
  const products = axes.map((_, a) => axes.map((__, b) => usual((arm) => arm.products[3 * a + b]!)));
  // along axis k the turn moves what it turns by (turn x away)_k = away . (k x turn)
  const moved = axes.map((axis, k) => {
    const by = cross([0, 1, 2].map((other) => Number(other === k)) as unknown as Vector3, turn);
    return {
      axis,
      rms: Math.sqrt(by.reduce((sum, p, a) => sum + p * by.reduce((s, q, b) => s + q * products[a]![b]!, 0), 0)),
    };
  });
  const smallest = campaign.smallestDifference.effector ?? 0;
  const touched = moved.filter(({ rms }) => rms > smallest);
  if (touched.length === 0) return [];
  const [candidate, baseline] = labels(campaign);
  const degrees = ((180 / Math.PI) * Math.hypot(...turn)).toFixed(1);
  const size = Math.max(...touched.map(({ rms }) => rms));
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `while the arm rests vehicle and tool together hang turned by ${degrees} degrees in the runs of ${candidate} against those of ${baseline}: the capture was calibrated otherwise, or the vehicle really hovers so; at the tool that is up to ${(1e3 * size).toPrecision(2)} mm, along ${joinWords(touched.map(({ axis }) => axis))}`,
      evidence: {
        turn_rad: [...turn],
        turn_p: steps.map((step) => step?.p ?? 1),
        moved_m: moved.map(({ rms }) => rms),
      },
      hint: "calibrate the capture once for both configurations, ground plane and origin included, and set the vehicle's heading alike; where it was truly flown so, accept this with the reason",
      touches: { subjects: ["effector"], axes: touched.map(({ axis }) => axis), part: "all" },
    },
  ];
}

/**
 * An arm at rest carries the tool where the vehicle goes. Where the captured tool does so by another share in one configuration,
 * one of the two bodies is shown larger, smaller, later or smoother there than it moved: which of them, this does not tell.
 */
function followings(campaign: Campaign, runs: readonly MeasuredRun[], settings: Settings): Check[] {
  const seen = axes.map((axis, k) => {
    const shareOf = ({ follows }: ArmSeen): number | null => {
      const share = follows[k]!;
      return share !== null && share > 0 ? Math.log(share) : null;
    };
    const step = armStep(campaign, runs, shareOf);
    const [candidate, baseline] = [campaign.candidate, campaign.baseline].map((name) => {
      const known = runs.flatMap(({ arm, declaration }) =>
        arm === null || declaration.configuration !== name ? [] : (shareOf(arm) ?? []),
      );
      return known.length === 0
        ? ""
        : `${Math.round(100 * Math.exp(mean(Float64Array.from(known))))} % in the runs of ${campaign.configurations[name]!.label}`;
    });
    return { axis, step, words: `along ${axis} by ${candidate} and ${baseline}` };
  });
  const apart = seen.filter(({ step }) => isClear(step, settings.follow_apart, settings));
  if (apart.length === 0) return [];
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `while the arm rests the tool is carried along with the vehicle, but not alike: of the vehicle's captured motion it makes ${joinWords(apart.map(({ words }) => words))}. One of the two bodies is scaled, filtered or tracked otherwise in one configuration, and its errors with it`,
      evidence: Object.fromEntries(
        apart.flatMap(({ axis, step }) => [
          [`${axis}_log_share`, step!.size],
          [`${axis}_p`, step!.p],
        ]),
      ),
      hint: "export both bodies of all runs alike: one scale, no filter, the same markers; where the arm really gives way so much, accept this with the reason",
      // an axis along which the vehicle rests too is not seen to be sound
      touches: {
        subjects,
        axes: seen.flatMap(({ axis, step }) =>
          step !== null && Math.abs(step.size) < settings.follow_apart / 2 ? [] : [axis],
        ),
        part: "all",
      },
    },
  ];
}
