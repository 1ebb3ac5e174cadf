/** The bytes are not the records they should be. What was visited before it stands. */
export class RecordDamage extends Error {}
