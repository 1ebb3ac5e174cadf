import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Window } from "../../foundation/tracks.ts";
import { median } from "../../numeric/descriptive.ts";
import type { LoggedFlight } from "./loggedFlight.ts";
import { matchCommands } from "./matchCommands.ts";

/** A run of a logged trajectory without a period. */
export interface Flown {
  readonly id: string;
  readonly flight: LoggedFlight;
  /** whether it may move the window of the others: neither excluded, nor aborted, nor unusable */
  readonly counts: boolean;
}

/** What a run is scored over, as decided over all runs of its trajectory. */
export interface DecidedStretch {
  /** seconds since this run's epoch; null where nothing is left */
  readonly window: Window | null;
  readonly checks: readonly Check[];
}

/** With words that count the other runs: a measurement does not see them, and stays the same when a run is added. */
export interface Stretch extends DecidedStretch {
  /** how it was found, for `settings` */
  readonly words: string;
}

/**
 * The stretch of command that all runs of a logged trajectory are scored over: the latest of their starts to the earliest of their
 * ends, each in the command's own time, for which the commands are laid over each other. Never from how large the error is.
 *
 * A run that a person cut to a stretch in flight (`span`) keeps it, and is doubted where that is not the stretch of the others. One that never came to its setpoint, or covers less than
 * `stretch_least` of the others, moves nothing. One that flew another command is scored over its own stretch, and doubted.
 */
export function commonStretch(runs: readonly Flown[], settings: Settings): ReadonlyMap<string, Stretch> {
  const free = runs.filter(({ flight }) => !flight.isDeclared);
  const whole = free.filter(sets);
  const usual = whole.length === 0 ? 0 : median(Float64Array.from(whole, ({ flight }) => length(flight.own)));
  const setting = whole.filter(({ flight }) => length(flight.own) >= settings.stretch_least * usual);
  const led = leader(setting, settings);
  const shifts = new Map(free.map((run) => [run.id, led === null ? null : shiftTo(led, run, settings)]));
  const ends = setting.flatMap(({ id, flight: { own } }) => {
    const shift = shifts.get(id) ?? null;
    return shift === null || own === null ? [] : [[own[0] + shift, own[1] + shift] as const];
  });
  const common: Window = [Math.max(...ends.map(([from]) => from)), Math.min(...ends.map(([, to]) => to))];
  const shared: Shared = { led, common, set: setting.length };
  const spans = spanChecks(
    runs.filter(({ flight }) => flight.isDeclared),
    settings,
  );
  return new Map(
    runs.map((run) => [
      run.id,
      run.flight.isDeclared
        ? { window: run.flight.own, checks: spans.get(run.id) ?? [], words: "as `span` says" }
        : stretchOf(run, shared, shifts.get(run.id) ?? null, settings),
    ]),
  );
}

/** Of runs cut by hand, those that hold another stretch of command than most: by id. */
function spanChecks(runs: readonly Flown[], settings: Settings): Map<string, Check[]> {
  const counting = runs.filter(({ flight, counts }) => counts && flight.own !== null);
  if (counting.length < 2) return new Map();
  const led = leader(counting, settings);
  if (led === null) return new Map(counting.map(({ id }) => [id, [otherSpan(null, null)]]));
  const placed = counting.map((run) => {
    const shift = shiftTo(led, run, settings);
    const own = run.flight.own!;
    return { id: run.id, window: shift === null ? null : ([own[0] + shift, own[1] + shift] as const) };
  });
  const usual = (end: 0 | 1): number =>
    median(Float64Array.from(placed.flatMap(({ window }) => (window === null ? [] : [window[end]]))));
  const most: Window = [usual(0), usual(1)];
  return new Map(
    placed.map(({ id, window }) => {
      const share = window === null ? 0 : sharedPart(window, most);
      return [id, share >= settings.valid_fraction ? [] : [otherSpan(led, share)]];
    }),
  );
}

/** What two stretches share of all that either covers. */
function sharedPart(one: Window, other: Window): number {
  const both = Math.min(one[1], other[1]) - Math.max(one[0], other[0]);
  return Math.max(0, both) / (length(one) + length(other) - both);
}

function sets({ flight, counts }: Flown): boolean {
  return counts && flight.arrival !== null && flight.own !== null;
}

function length(window: Window | null): number {
  return window === null ? 0 : window[1] - window[0];
}

/** The first run whose command most of the others flew; null where there is none. */
function leader(runs: readonly Flown[], settings: Settings): Flown | null {
  const most = runs.length / 2;
  return (
    runs.find((one) => {
      let alike = 0;
      for (const run of runs) {
        if (shiftTo(one, run, settings) !== null) alike++;
        if (alike > most) return true;
      }
      return false;
    }) ?? null
  );
}

/** What to add to a run's instants for those of the same place in the leader's command; null where it flew another. */
function shiftTo(led: Flown, run: Flown, settings: Settings): number | null {
  if (led === run) return 0;
  // the shorter lies within the longer
  const isLonger = run.flight.command.t.length > led.flight.command.t.length;
  const [one, other] = isLonger ? [led, run] : [run, led];
  const { shift, apart } = matchCommands(one.flight.command, other.flight.command);
  return apart > settings.stretch_alike ? null : isLonger ? -shift : shift;
}

interface Shared {
  /** the run in whose time the stretch is given; null where no command is that of most runs */
  readonly led: Flown | null;
  readonly common: Window;
  /** runs that set it */
  readonly set: number;
}

function stretchOf(run: Flown, shared: Shared, shift: number | null, settings: Settings): Stretch {
  const { flight } = run;
  const { led, common, set } = shared;
  const checks = flight.arrival === null ? [neverArrived(flight, settings)] : [];
  if (led === null || shift === null || !(common[1] > common[0])) {
    const words = "its own flight, from arrival to landing";
    return { window: flight.own, checks: set > 0 ? [...checks, otherCommand(flight, shared, shift)] : checks, words };
  }
  const [from, to] = [common[0] - shift, common[1] - shift];
  const window: Window = [Math.max(from, flight.moving[0]), Math.min(to, flight.moving[1])];
  const words =
    set === 1
      ? "its own flight, from arrival to landing"
      : `the stretch of command that ${set} runs flew from arrival to landing: ${common[0].toFixed(2)} to ${common[1].toFixed(2)} s of ${led.id}`;
  const covered = Math.max(0, length(window)) / length(common);
  if (covered >= settings.valid_fraction) return { window, checks, words };
  return { window: covered > 0 ? window : null, checks: [...checks, tooShort(covered, common)], words };
}

function neverArrived({ nearest }: LoggedFlight, settings: Settings): Check {
  return {
    code: "no-arrival",
    severity: "doubt",
    message: `the vehicle never came within ${settings.stretch_arrival} m of its setpoint in flight (nearest ${nearest.toFixed(2)} m): when its flight had settled is not known, and it has no say in the stretch that is scored`,
    evidence: { nearest_m: Number.isFinite(nearest) ? nearest : null, within_m: settings.stretch_arrival },
    hint: "look whether it flew as commanded, and whether capture and setpoint share a frame; name the stretch with `span: [3 s, 31 s]` on the runs",
  };
}

function otherCommand({ own }: LoggedFlight, { led, common }: Shared, shift: number | null): Check {
  const what =
    led === null
      ? "the runs of this trajectory share no command"
      : shift === null
        ? `the command of this run is not that of ${led.id} and the runs like it`
        : `the runs share the command, but no stretch of it that all flew (from ${common[0].toFixed(1)} s, to ${common[1].toFixed(1)} s of ${led.id})`;
  return {
    code: "wrong-trajectory",
    severity: "doubt",
    message: `${what}; it is scored over its own flight, so that its error is of another stretch than theirs`,
    evidence: { compared_with: led?.id ?? null, from_s: own?.[0] ?? null, to_s: own?.[1] ?? null },
    hint: "file runs of different commands as different trajectories; or name the stretch of each run with `span`",
  };
}

function otherSpan(led: Flown | null, share: number | null): Check {
  const what =
    led === null
      ? "the runs of this trajectory that are cut by `span` share no command"
      : share === 0
        ? "`span` cuts this run to another command than that of most runs"
        : `\`span\` cuts this run to another stretch of command than most: it shares ${(100 * share!).toFixed(0)} % of it`;
  return {
    code: "wrong-trajectory",
    severity: "doubt",
    message: `${what}, so that its error is of another motion than theirs`,
    evidence: { compared_with: led?.id ?? null, shared_share: share },
    hint: "let each `span` begin and end at the same places of the command; seconds count from the start of each log",
  };
}

function tooShort(covered: number, common: Window): Check {
  return {
    code: "few-cycles",
    severity: "unusable",
    message: `this run holds ${(100 * covered).toFixed(0)} % of the ${length(common).toFixed(1)} s of command that the others are scored over`,
    evidence: { covered_share: covered, common_s: length(common) },
    hint: "the recording begins late or ends early; file it as `outcome: aborted` if the flight did",
  };
}
