import type { Audit } from "../../contract/audit.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";

/** Settings of the autopilot by run id and name. */
export type RunParameters = ReadonlyMap<string, ReadonlyMap<string, number>>;

/** What an autopilot counts or draws by itself; it is set by nobody. */
const counters = /^(LND_FLIGHT_T_(HI|LO)|COM_FLIGHT_UUID|STAT_.*|SYS_.*COUNT)$/;

/**
 * Settings that are not the same in all used runs, in the order of their names, with the values met in each configuration. A
 * setting that a run's log does not have says nothing of that run.
 */
export function differingParameters(used: readonly RunEvaluation[], parameters: RunParameters): Audit["parameters"] {
  const found = new Map<string, Map<string, Set<number>>>();
  for (const { id, configuration } of used)
    for (const [name, value] of parameters.get(id) ?? []) {
      if (counters.test(name) || Number.isNaN(value)) continue;
      const configurations = found.get(name) ?? new Map<string, Set<number>>();
      found.set(name, configurations);
      const values = configurations.get(configuration) ?? new Set<number>();
      configurations.set(configuration, values.add(value));
    }
  return [...found]
    .filter(([, configurations]) => new Set([...configurations.values()].flatMap((values) => [...values])).size > 1)
    .map(([name, configurations]) => ({
      name,
      configurations: Object.fromEntries(
        [...configurations].map(([configuration, values]) => [configuration, [...values].sort((a, b) => a - b)]),
      ),
    }))
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}
