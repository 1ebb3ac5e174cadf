import type { Subject } from "../foundation/signals.ts";
import type { PointTrack, PoseTrack, Window } from "../foundation/tracks.ts";
import type { CommandTrack } from "./commandTrack.ts";
import type { SubjectTrack } from "./subjectTracks.ts";

/** What the checks of axes, units and roles look at. */
export interface FrameFacts {
  readonly vehicle: PoseTrack;
  /** whether its attitude was measured; else it reads as level */
  readonly turned: boolean;
  readonly tool: PointTrack | null;
  readonly setpoint: CommandTrack;
  readonly subjects: Readonly<Partial<Record<Subject, SubjectTrack>>>;
  /** the frame of the arm's command: in the world it does not rest on the setpoint's attitude */
  readonly frame: "world" | "vehicle" | "arm_base";
  /** smallest difference of the effector that matters, and of the vehicle, metres; null where not declared */
  readonly smallest: number | null;
  readonly vehicleSmallest: number | null;
  /** stretch to look at; null: the whole run */
  readonly scored: Window | null;
}
