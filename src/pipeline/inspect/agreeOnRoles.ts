import type { SignalName } from "../../foundation/tracks.ts";
import { type Candidate, sourceText } from "../../report/draft/candidates.ts";
import type { RoleDraft } from "../../report/draft/draftSignals.ts";
import { type FoundLog, withSignals } from "./foundLog.ts";
import { familyOf } from "./logKinds.ts";

/** A log whose like show something else: what it showed itself. */
export interface OddRole {
  readonly log: FoundLog;
  readonly words: string;
}

/**
 * One manifest names one place for each signal, so logs of one family of formats that hold the same things serve alike: as most of them show.
 * A log that could not tell takes what its like show; one that shows something else is named.
 */
export function agreeOnRoles(found: readonly FoundLog[]): { logs: readonly FoundLog[]; odd: readonly OddRole[] } {
  const odd: OddRole[] = [];
  const formats = new Map<string, FoundLog[]>();
  for (const one of found) formats.set(familyOf(one), [...(formats.get(familyOf(one)) ?? []), one]);
  const usual = new Map([...formats].map(([format, logs]) => [format, votesOf(logs.filter(({ still }) => !still))]));
  const logs = found.map((one) => {
    const roles = new Map(one.roles);
    const differing: string[] = [];
    for (const [signal, votes] of usual.get(familyOf(one))!) {
      const own = roles.get(signal);
      const [best, second] = votes;
      if (best === undefined || own === undefined || (own.chosen !== null && sourceText(own.chosen) === best.place))
        continue;
      const candidate = one.candidates.find((each) => sourceText(each) === best.place && each.couldBe.includes(signal));
      if (candidate === undefined || best.count < 2 * (second?.count ?? 0) || best.count < 2) continue;
      roles.set(signal, { ...best.role, chosen: candidate });
      if (own?.chosen) differing.push(`${own.chosen.name} shows the ${signal} here`);
    }
    const log = withSignals(one, roles);
    if (differing.length > 0) odd.push({ log, words: differing.join("; ") });
    return log;
  });
  return { logs, odd };
}

interface Vote {
  readonly place: string;
  readonly role: RoleDraft & { readonly chosen: Candidate };
  count: number;
}

/** For each signal where it stands, the commonest first. */
function votesOf(logs: readonly FoundLog[]): ReadonlyMap<SignalName, readonly Vote[]> {
  const votes = new Map<SignalName, Vote[]>();
  for (const { roles } of logs)
    for (const [signal, role] of roles) {
      if (role.chosen === null) continue;
      const place = sourceText(role.chosen);
      const known = votes.get(signal) ?? [];
      votes.set(signal, known);
      const same = known.find((vote) => vote.place === place);
      if (same === undefined) known.push({ place, role: { ...role, chosen: role.chosen }, count: 1 });
      else same.count++;
    }
  for (const known of votes.values()) known.sort((a, b) => b.count - a.count);
  return votes;
}
