import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import { axes } from "../../foundation/tracks.ts";
import type { CoarseOffset } from "./coarseOffset.ts";
import type { OffsetSearch } from "./expectedOffset.ts";
import { type TurnedSight, turnText } from "./sights.ts";

export function noOverlap(name: string, what: string, options: OffsetSearch, settings: Settings): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} have less than ${settings.clock_overlap} s in common at any offset ${options.where}`,
    evidence: searched(name, options),
    hint: options.hint,
  };
}

export function atEdge(name: string, what: string, options: OffsetSearch, offset: number): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} agree best at the edge of the search, which looks ${options.where}: the offset lies beyond`,
    evidence: { ...searched(name, options), edge_s: offset + options.epochs },
    hint: options.hint,
  };
}

export function noAgreement(
  name: string,
  what: string,
  options: OffsetSearch,
  agreement: number,
  perAxis: readonly number[],
): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} do not show the same motion at any offset ${options.where} (agreement ${agreement.toFixed(2)} of 1)`,
    evidence: { ...searched(name, options), ...agreements(agreement, perAxis) },
    hint: `check that both signals belong to this vehicle and run, the axes and unit of the gyro (\`axes: { body: frd }\`, rad/s), which axis of the capture points up (\`frames: world: up\`) and the quaternion order; a clock that was set within the run fits nowhere, or before and after at different offsets: cut the run by \`span\`; or ${options.hint}`,
  };
}

/** Offsets as the manifest writes them: that clock's stamp minus the reference clock's. */
function searched(name: string, { near, search, epochs }: OffsetSearch): Check["evidence"] {
  return { clock: name, near_s: near + epochs, search_s: search };
}

function agreements(agreement: number, [x, y, z]: readonly number[]): Check["evidence"] {
  return { agreement, agreement_x: x!, agreement_y: y!, agreement_z: z! };
}

/**
 * An axis about which both sights move and not together: two flights of one trajectory agree about the axes that the arm
 * drives, and about those that the air drives not at all. What one sight holds beyond the other's energy is taken for its
 * noise; of the rest, the smaller energy, less than half is then in common. Null where there is none.
 */
export function strangeAxis({ axes: perAxis, energies }: CoarseOffset, settings: Settings): number | null {
  const largest = Math.max(...energies.map(([a, b]) => Math.max(a, b)));
  const strange = perAxis.findIndex((agreement, axis) => {
    const [a, b] = energies[axis]!;
    const least = Math.min(a, b);
    if (least < settings.clock_axis_share * largest || least < settings.clock_axis_alike * Math.max(a, b)) return false;
    // agreement is 2 sum(ab) / (sum(aa) + sum(bb))
    return (0.5 * agreement * (a + b)) / least < settings.clock_axis_common;
  });
  return strange < 0 ? null : strange;
}

export function otherFlight(name: string, what: string, coarse: CoarseOffset, axis: number): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} agree best where about axis ${axes[axis]} both move but not together (agreement ${coarse.axes[axis]!.toFixed(2)} of 1): two logs of different flights look like that`,
    evidence: { clock: name, ...agreements(coarse.agreement, coarse.axes) },
    hint: "check that both logs are of this flight, and the axes of both sights (`axes: { body: frd }` of an autopilot's gyro, `frames: world: up` of the capture)",
  };
}

export function askew(name: string, what: string, turn: TurnedSight): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} show the same motion only with the axes of one turned by ${turnText(turn)} (agreement ${turn.agreement.toFixed(2)} of 1; as declared ${turn.straight.toFixed(2)}): it is mounted, or its body was defined, at that angle`,
    evidence: { clock: name, agreement: turn.straight, agreement_if_turned: turn.agreement, angle_deg: turn.angle },
    hint: "look at the axes of both sights (`axes: { body: frd }` of an autopilot's gyro), at how the marker body was defined and at the order of the quaternion's columns; nothing was turned",
  };
}
