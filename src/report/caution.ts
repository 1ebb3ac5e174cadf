/** Ends every text about flights. */
export const caution =
  "Counterpoise judges logs. It never says that a vehicle is safe to fly: local aviation rules, site procedures and licensed practice prevail.";
