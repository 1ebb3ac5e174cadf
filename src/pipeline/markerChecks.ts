import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { Vector3 } from "../foundation/units.ts";
import { fittedTurns } from "../numeric/harmonicBasis.ts";
import { allowedMisfit, bodySize, misfitCheck, worstStretch } from "./markerMisfit.ts";

/** Share of the frames that may rest on markers near one line without standing together. */
const scattered = 0.01;

/** How surely one set of markers holds a body. */
interface Hold {
  readonly labels: readonly string[];
  /** metres, about the axis that it fixes worst */
  readonly spread: number;
  /** how far the turn moves what is as far from that axis as the body is large, for each unit of a marker's noise */
  readonly amplification: number;
}

/**
 * Markers near one line leave the turn about it to their noise. How much of it is too much follows from the geometry: the
 * turn may move what is as far from the line as the body is large by no more than markers may miss their declared places by.
 * The largest amplification is that length over the noise of a marker.
 */
function turnCheck(
  { signal, fit, fits, stamped, received }: RecordedSignal,
  places: Readonly<Record<string, Vector3>>,
): Check[] {
  // noise of 0 leaves any turn alone
  if (fit === undefined || fits === undefined || !fits.noise) return [];
  const { noise } = fits;
  const body = fit.markers.map((label) => places[label]!);
  const size = bodySize(body);
  const largest = allowedMisfit(size) / noise;
  const holds = fits.sets.map((set) => holdOf(set, fit.markers, body, size));
  const amplification = Float64Array.from(fits.set, (set) => holds[set]!.amplification);
  const beyond = amplification.reduce((count, value) => count + Number(value > largest), 0);
  const stretch = worstStretch(amplification, largest);
  if (beyond === 0 || (stretch === null && beyond <= scattered * amplification.length)) return [];
  const worst = holds.reduce((a, b) => (b.amplification > a.amplification ? b : a));
  const { seconds } = stamped ?? received;
  const [from, to] = stretch === null ? [null, null] : [seconds[stretch.first]!, seconds[stretch.last]!];
  const turn = noise / worst.spread;
  const where =
    beyond === amplification.length
      ? ""
      : `in ${beyond} of ${amplification.length} frames${from === null ? "" : `, most of them from ${from.toFixed(2)} s to ${to!.toFixed(2)} s of the capture,`} `;
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `${signal}: ${where}its markers ${worst.labels.join(", ")} lie so near one line that their noise of ${(1e3 * noise).toFixed(2)} mm turns the body about it by ${((180 / Math.PI) * turn).toFixed(1)} degrees rms, and what is as far from it as the body is large, ${(1e3 * size).toFixed(0)} mm, by ${(1e3 * noise * worst.amplification).toFixed(1)} mm`,
      evidence: {
        signal,
        markers: worst.labels.join(", "),
        frames: amplification.length,
        frames_beyond: beyond,
        from_s: from,
        to_s: to,
        noise_m: noise,
        spread_m: worst.spread,
        turn_rad: turn,
        amplification: worst.amplification,
        largest_amplification: largest,
        size_m: size,
      },
      hint: "set a marker off that line, the farther the better; until then the attitude about it is mostly noise",
    },
  ];
}

function holdOf(set: readonly number[], labels: readonly string[], body: readonly Vector3[], size: number): Hold {
  const { spread } = fittedTurns(set.flatMap((k) => body[k]!)).axes[0];
  return { labels: set.map((k) => labels[k]!), spread, amplification: size / spread };
}

/**
 * What a body solved from markers rests on: markers that were missing or filled in, places that do not fit, and markers too
 * near one line. Nothing to say where every marker was measured throughout, lies where it is declared, and fixes the pose.
 *
 * @param places  label -> place in the body's marker frame, metres
 */
export function markerChecks(signal: RecordedSignal, places: Readonly<Record<string, Vector3>>): Check[] {
  return [...unmeasuredCheck(signal), ...misfitCheck(signal, Object.values(places)), ...turnCheck(signal, places)];
}

function unmeasuredCheck({ signal, fit }: RecordedSignal): Check[] {
  if (fit === undefined || fit.missing + fit.modelled === 0) return [];
  const readings = fit.frames * fit.markers.length;
  return [
    {
      code: "gap",
      severity: "note",
      message: `${signal}: of ${readings} readings of ${fit.markers.length} marker(s) ${fit.missing} are missing and ${fit.modelled} were filled in instead of measured; poses rest on the others, ${fit.solved} of ${fit.frames} frames have one`,
      evidence: {
        markers: fit.markers.join(", "),
        frames: fit.frames,
        solved: fit.solved,
        missing: fit.missing,
        modelled: fit.modelled,
        residual_m: fit.residual,
      },
      hint: "look for occluded markers, and switch off gap filling before the export",
    },
  ];
}
