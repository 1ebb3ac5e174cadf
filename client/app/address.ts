import { type CellAxis, cellAxes, type MeasureId, measureIds } from "../../src/catalogue/measures.ts";
import { type Subject, subjects } from "../../src/foundation/tracks.ts";
import { type Place, type RunsSight, runsUses } from "./View.ts";

/**
 * The address of a place, from # on. Names are a person's words: they are encoded.
 *
 * @example addressOf({ page: "cell", trajectory: "orbit", subject: "vehicle", axis: "y", metric: "rms" }) // => "#/cell/orbit/vehicle/y/rms"
 */
export function addressOf(place: Place): string {
  const part = encodeURIComponent;
  switch (place.page) {
    case "answer":
      return `#/${queryOf(place)}`;
    case "cell":
      return `#/cell/${part(place.trajectory)}/${place.subject}/${place.axis}/${place.metric}`;
    case "run": {
      const window = place.window === null ? "" : `?from=${place.window[0]}&to=${place.window[1]}`;
      return `#/run/${part(place.run)}/${place.subject}${window}`;
    }
    case "compare":
      return `#/compare/${part(place.first)}/${part(place.second)}/${place.subject}`;
    case "synchronous": {
      const asked = new URLSearchParams(place.harmonic === undefined ? {} : { harmonic: String(place.harmonic) });
      if (place.ownScales) asked.set("scales", "own");
      return `#/synchronous/${part(place.trajectory)}/${place.subject}${asked.size === 0 ? "" : `?${asked}`}`;
    }
    case "setup":
    case "check":
    case "why":
    case "costs":
    case "audit":
    case "bench":
      return `#/${place.page}`;
    case "plan": {
      const asked = new URLSearchParams();
      for (const key of ["runs", "blocks", "seed"] as const)
        if (place[key] !== null) asked.set(key, String(place[key]));
      if (place.sham) asked.set("sham", "yes");
      return asked.size === 0 ? "#/plan" : `#/plan?${asked}`;
    }
  }
}

/** What the answer's address asks for, from ? on. */
function queryOf({ metric, runs }: Place & { page: "answer" }): string {
  const { down, grouped, ...words } = runs ?? {};
  const asked = new URLSearchParams(metric === null ? {} : { metric });
  for (const [key, text] of Object.entries(words)) asked.set(key, text);
  if (down) asked.set("down", "yes");
  if (grouped) asked.set("by", "block");
  return asked.size === 0 ? "" : `?${asked}`;
}

/** The place an address stands for; null where it stands for none. */
export function placeAt(address: string): Place | null {
  const [path = "", query = ""] = address.replace(/^#?\/?/, "").split("?", 2);
  const asked = new URLSearchParams(query);
  const parts = path.split("/").map(decoded);
  if (parts.includes(null)) return null;
  const [page = "", ...names] = parts as string[];
  return names.length === 0 ? wholePage(page, asked) : namedPlace(page, names, asked);
}

/** The place of a page that is about no name. */
function wholePage(page: string, asked: URLSearchParams): Place | null {
  if (
    page === "setup" ||
    page === "check" ||
    page === "why" ||
    page === "costs" ||
    page === "audit" ||
    page === "bench"
  )
    return { page };
  if (page === "plan") return { page, ...wishIn(asked) };
  const wanted = asked.get("metric");
  if (page !== "" || (wanted !== null && !isMetric(wanted))) return null;
  const runs = runsIn(asked);
  return { page: "answer", metric: wanted, ...(Object.keys(runs).length === 0 ? {} : { runs }) };
}

/** How the runs are looked at. What no page knows shows them as at first. */
function runsIn(asked: URLSearchParams): RunsSight {
  const [sort, find, drawn] = ["sort", "find", "drawn"].map((key) => asked.get(key) || null);
  const use = runsUses.find((each) => each === asked.get("use"));
  return {
    ...(sort && { sort }),
    ...(asked.get("down") === "yes" && { down: true }),
    ...(find && { find }),
    ...(use && { use }),
    ...(asked.get("by") === "block" && { grouped: true }),
    ...(drawn && { drawn }),
  };
}

/** The place of a page that is about a run, two runs, a trajectory or a cell. */
function namedPlace(page: string, names: readonly string[], asked: URLSearchParams): Place | null {
  if (names[0] === "") return null;
  if (page === "compare" && names.length === 3) {
    const [first, second, subject] = names as [string, string, string];
    return second === "" || !isSubject(subject) ? null : { page, first, second, subject };
  }
  // as a person types it: the run, of the subject that every run has
  const [name, subject = page === "run" ? "vehicle" : undefined, axis, metric] = names as [string, ...string[]];
  if (!isSubject(subject)) return null;
  if (page === "cell" && names.length === 4)
    return isAxis(axis) && isMetric(metric) ? { page, trajectory: name, subject, axis, metric } : null;
  if (names.length > 2) return null;
  if (page === "run") return { page, run: name, subject, window: windowIn(asked) };
  if (page !== "synchronous") return null;
  const harmonic = wholeIn(asked, "harmonic");
  return {
    page,
    trajectory: name,
    subject,
    ...(harmonic !== null && { harmonic }),
    ...(asked.get("scales") === "own" && { ownScales: true }),
  };
}

/** A window that is none is left out: the whole run is the better sight than an error. */
function windowIn(asked: URLSearchParams): readonly [number, number] | null {
  const [from, to] = [asked.get("from"), asked.get("to")].map((text) =>
    text === null || text.trim() === "" ? Number.NaN : Number(text),
  ) as [number, number];
  return Number.isFinite(from) && Number.isFinite(to) && from < to ? [from, to] : null;
}

/** What is no whole number is left out: the plan's own advice is the better sight than an error. */
function wishIn(asked: URLSearchParams): Omit<Place & { page: "plan" }, "page"> {
  const whole = (key: string): number | null => wholeIn(asked, key);
  return { runs: whole("runs"), blocks: whole("blocks"), seed: whole("seed"), sham: asked.get("sham") === "yes" };
}

function wholeIn(asked: URLSearchParams, key: string): number | null {
  const text = asked.get(key) ?? "";
  return /^\d{1,10}$/.test(text) ? Number(text) : null;
}

function decoded(part: string): string | null {
  try {
    return decodeURIComponent(part);
  } catch {
    return null;
  }
}

function isMetric(text: string | undefined): text is MeasureId {
  return measureIds.includes(text as MeasureId);
}

function isSubject(text: string | undefined): text is Subject {
  return subjects.includes(text as Subject);
}

function isAxis(text: string | undefined): text is CellAxis {
  return cellAxes.includes(text as CellAxis);
}
