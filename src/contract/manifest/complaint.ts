/** A value a field cannot accept; the reading that called the field adds the place. Never leaves this folder. */
export class Complaint extends Error {
  readonly hint: string | null;
  /** the value is not there at all */
  readonly missing: boolean;

  constructor(message: string, options: { hint?: string | null; missing?: boolean } = {}) {
    super(message);
    this.name = "Complaint";
    this.hint = options.hint ?? null;
    this.missing = options.missing ?? false;
  }
}
