import type { RunDeclaration } from "../campaign.ts";
import { list, optional, text } from "./fields.ts";
import type { Reading } from "./reading.ts";
import { isMapping, type Path, type TextMapping } from "./textTree.ts";

/** The runs of a configuration, where it lists them instead of each run naming it. */
export const runsOfConfiguration = optional(list(text("a run's id, or the name of its log"), "runs"));

type Named = Pick<RunDeclaration, "logs"> & { readonly id: string | null };

/**
 * Which runs the configurations list. A campaign of which only a person knows what flew when is filed by one line, such as
 * `weighted: { runs: [flight-02, flight-05] }`; a run that no configuration lists is then one of the baseline's.
 */
export class FiledRuns {
  /** by what a run may be called */
  readonly #reading: Reading;
  readonly #listed = new Map<string, { readonly configuration: string; readonly path: Path }>();
  /** where any configuration lists its runs, be it none */
  readonly #baseline: string | null;

  constructor(reading: Reading, root: TextMapping) {
    this.#reading = reading;
    const entries = Object.entries(isMapping(root.configurations) ? root.configurations : {});
    const isListing = entries.some(([, entry]) => isMapping(entry) && Array.isArray(entry.runs));
    this.#baseline = isListing && typeof root.baseline === "string" ? root.baseline.trim() : null;
    for (const [configuration, entry] of entries) {
      // what is wrong with the list is said where the configurations are read
      const names = isMapping(entry) ? (runsOfConfiguration.safeParse(entry.runs).data ?? []) : [];
      for (const [k, name] of names.entries()) {
        const path = ["configurations", configuration, "runs", k];
        if (!this.#listed.has(name)) this.#listed.set(name, { configuration, path });
        else reading.complain(path, `found ${JSON.stringify(name)} a second time, expected every run in one list`);
      }
    }
  }

  /** The configuration that lists a run; null where none does. */
  listing(run: Named): string | null {
    if (this.#listed.size === 0) return null;
    for (const name of namesOf(run)) if (this.#listed.has(name)) return this.#listed.get(name)!.configuration;
    return null;
  }

  /** The configuration of a run that none lists; null where none lists any. */
  get rest(): string | null {
    return this.#baseline;
  }

  /** Notes what is listed and is no run, and what could be several. */
  check(runs: readonly Named[]): void {
    if (this.#listed.size === 0) return;
    const counts = new Map<string, number>();
    for (const run of runs) for (const name of namesOf(run)) counts.set(name, (counts.get(name) ?? 0) + 1);
    for (const [name, { path }] of this.#listed) {
      const count = counts.get(name) ?? 0;
      if (count === 0)
        this.#reading.unknownName(path, name, {
          what: "a run by its id or its log",
          known: runs.map((run) => [...namesOf(run)][0]!),
        });
      else if (count > 1)
        this.#reading.complain(
          path,
          `found ${JSON.stringify(name)}, which is the name of ${count} runs, expected one`,
          "write the path of its log as the run does, or give the runs an id",
        );
    }
  }
}

/** What a run may be called: its id, the paths of its logs, and their names with and without their ending. */
function namesOf({ id, logs }: Named): ReadonlySet<string> {
  const paths = Object.values(logs).flat();
  const files = paths.map((path) => path.split(/[/\\]/).at(-1) ?? path);
  return new Set([
    ...(id === null ? [] : [id]),
    ...files.map((file) => file.replace(/(?<=.)\.[^.]*$/, "")),
    ...files,
    ...paths,
  ]);
}
