/** How the error that a campaign allows itself is shared out over its looks. */
export const spendingKinds = ["obrien-fleming", "pocock"] as const;
export type SpendingKind = (typeof spendingKinds)[number];
