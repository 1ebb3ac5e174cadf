import { diskEffects, type Effects } from "../../src/pipeline/effects.ts";

/**
 * Effects that find the logs of a manifest elsewhere: the manifest lies here, the logs in the folder of open logs. Nothing is
 * written: the folder of tests is no place for looks.jsonl.
 *
 * @param at  where a log is, from where the manifest says
 */
export function effectsAt(at: (path: string) => string): Effects {
  const of = (path: string): string => (/\.(ya?ml|jsonl)$/.test(path) ? path : at(path));
  return {
    ...diskEffects,
    writeAtomically: async () => undefined,
    size: (path) => diskEffects.size(of(path)),
    sha256: (path) => diskEffects.sha256(of(path)),
    readLog: (paths, requests, options) => diskEffects.readLog(paths.map(of), requests, options),
  };
}
