/**
 * A build, so that it can be distinguished from another.
 *
 * @param build.commit  null: built outside git, or not built at all
 * @param build.parts   hash of what was built; null: run from the sources
 * @example buildText({ version: "0.2.0", commit: "1a2b3c4d5e6f", parts: "0123456789ab" })
 *   // => "0.2.0 (commit 1a2b3c4d5e6f, parts 0123456789ab)"
 */
export function buildText({
  version,
  commit,
  parts,
}: {
  readonly version: string;
  readonly commit: string | null;
  readonly parts: string | null;
}): string {
  if (parts === null) return `${version} (run from the sources, not built)`;
  return `${version} (${commit === null ? "built outside git" : `commit ${commit}`}, parts ${parts})`;
}
