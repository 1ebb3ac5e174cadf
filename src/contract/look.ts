import * as z from "zod";
import { measureIds } from "../catalogue/measures.ts";

const nullable = z.number().nullable();

/** One line of looks.jsonl: what the verdicts rested on when they were looked at. */
export const lookSchema = z.strictObject({
  /** ISO 8601 */
  at: z.iso.datetime(),
  /** version, commit and hash of the build; in older lines the version alone */
  tool: z.string(),
  /** ids of the used runs, sorted */
  used: z.array(z.string()),
  primary: z.enum(measureIds),
  /** metres */
  smallest_difference: z.strictObject({ vehicle: nullable, effector: nullable, arm: nullable }),
  /** file name of the manifest; the three below are not there in lines of older versions */
  manifest: z.string().optional(),
  /** fingerprints of the filed runs' logs, sorted: looks belong to flights, not to a folder */
  flights: z.array(z.string()).optional(),
  /** fingerprint of all that makes another look where it changes */
  grounds: z.string().optional(),
  /**
   * how things stood when the answer was first seen, in the first look at these flights: SHA-256 of the files (manifest and
   * exclusions among them), fingerprints of the set-up by part and of how runs are filed, run ids, exclusions with their reasons
   */
  opening: z
    .strictObject({
      files: z.record(z.string(), z.string()),
      set_up: z.record(z.string(), z.string()),
      filing: z.string(),
      runs: z.array(z.string()),
      excluded: z.record(z.string(), z.string()),
    })
    .optional(),
});
export type Look = z.infer<typeof lookSchema>;
