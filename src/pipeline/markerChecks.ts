import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { Vector3 } from "../foundation/units.ts";

/**
 * What a body solved from markers rests on: markers that were missing or filled in, and places that do not fit. Nothing to
 * say where every marker was measured throughout and lies where it is declared.
 *
 * @param places  label -> place in the body's marker frame, metres
 */
export function markerChecks(signal: RecordedSignal, places: Readonly<Record<string, Vector3>>): Check[] {
  return [...unmeasuredCheck(signal), ...misfitCheck(signal, Object.values(places))];
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

/** Metres, and share of the body's size, beyond which markers do not lie where they are declared: common practice, no source. */
const largestMisfit = 0.003;
const largestMisfitShare = 0.05;

/** A body whose markers do not fit their declared places has wrong poses, however small its noise. */
function misfitCheck({ signal, fit }: RecordedSignal, places: readonly Vector3[]): Check[] {
  if (fit === undefined || places.length < 3) return [];
  const apart = places.map(([x, y, z]) => Math.max(...places.map(([a, b, c]) => Math.hypot(x - a, y - b, z - c))));
  const size = Math.max(...apart);
  if (!(fit.residual > Math.max(largestMisfit, largestMisfitShare * size))) return [];
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `${signal}: its markers miss their declared places by ${(1e3 * fit.residual).toFixed(1)} mm rms on a body of ${(1e3 * size).toFixed(0)} mm; its poses are wrong by as much`,
      evidence: { signal, markers: fit.markers.join(", "), residual_m: fit.residual, size_m: size },
      hint: "are two labels exchanged, a marker moved, the places mirrored or in another unit?",
    },
  ];
}
