import type { Trajectory } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";
import { type CommandTrack, messagesOf } from "../commandTrack.ts";
import { sampleAttitudes } from "../sampleTrack.ts";
import { cycleExtent } from "./cycleExtent.ts";
import { describeCommand, movingStretches } from "./describeCommand.ts";
import { type Waveform, waveformAt } from "./waveform.ts";

/** The shape is drawn through points this far apart, seconds. */
const drawn = 0.01;

/**
 * A command that comes slowly, with its declared circle or line between its messages: what was commanded there the shape tells,
 * and neither a step nor a chord does. Six messages a turn leave chords an eighth of the radius inside the circle.
 *
 * The shape's centre, size and phase are those of the messages, by least squares; only where they lie on it is it drawn.
 *
 * @returns null where the command comes often enough, no smooth shape is declared, or the messages do not lie on one
 */
export function shapedCommand(track: CommandTrack, declared: Trajectory, settings: Settings): CommandTrack | null {
  if (!(track.interval > settings.command_interval)) return null;
  if (declared.shape !== "circle" && declared.shape !== "line") return null;
  const samples = messagesOf(track);
  const pause = Math.max(0.5 * declared.period, settings.gap_intervals * track.interval);
  const stretch = movingStretches(samples, pause).reduce<{ from: number; to: number } | null>(
    (best, one) => (best === null || one.to - one.from > best.to - best.from ? one : best),
    null,
  );
  const wave = stretch === null ? null : describeCommand(samples, stretch, declared.period, 0.1);
  if (stretch === null || wave === null || !(wave.residual < settings.command_shape * wave.spread)) return null;
  const { start, end } = cycleExtent(samples, stretch, wave);
  // the last cycle ends between its last message and the next
  const whole = start + Math.ceil((end - start) / wave.period - 1e-3) * wave.period;
  const next = track.t[lowerBound(track.t, end + 1e-3)] ?? end;
  return drawShape(track, wave, start, whole <= next ? whole : end);
}

function drawShape(track: CommandTrack, wave: Waveform, from: number, to: number): CommandTrack {
  const count = Math.max(2, Math.ceil((to - from) / drawn) + 1);
  const t = new Float64Array(count).map((_, k) => from + (k * (to - from)) / (count - 1));
  const points = Array.from(t, (at) => waveformAt(wave, at));
  const place = (axis: 0 | 1 | 2): Float64Array => Float64Array.from(points, (point) => point[axis]);
  const shape = { t, x: place(0), y: place(1), z: place(2), ...sampleAttitudes(track, t) };
  const [before, after] = [lowerBound(track.t, from), lowerBound(track.t, to + 1e-9)];
  const join = (name: "t" | "x" | "y" | "z" | "qx" | "qy" | "qz" | "qw"): Float64Array => {
    const [head, tail] = [track[name].subarray(0, before), track[name].subarray(after)];
    const out = new Float64Array(head.length + count + tail.length);
    out.set(head);
    out.set(shape[name], head.length);
    out.set(tail, head.length + count);
    return out;
  };
  return {
    ...track,
    t: join("t"),
    x: join("x"),
    y: join("y"),
    z: join("z"),
    qx: join("qx"),
    qy: join("qy"),
    qz: join("qz"),
    qw: join("qw"),
    between: "linear",
    shaped: true,
  };
}
