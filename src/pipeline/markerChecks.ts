import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { Vector3 } from "../foundation/units.ts";
import { misfitCheck } from "./markerMisfit.ts";
import { turnCheck } from "./markerTurn.ts";

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
