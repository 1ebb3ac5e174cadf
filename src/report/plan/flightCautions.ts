/** Shown with every plan (design, section 9). The last one always stays the last word. */
export const flightCautions: readonly string[] = [
  "Fly in a netted arena, or tethered, with an exclusion zone and nobody inside it; never mix tethered and untethered flights in one comparison.",
  "Test kill switch and fail-safe before the first flight of each block.",
  "Props off for bench work, static captures and checks of axes; throw a cracked prop away.",
  "Batteries: charge them attended and in a fire-safe place, retire swollen packs, give each the same rest, land at the voltage limit under load.",
  "Counterweights mechanically retained (fastened twice), clear of the props over the arm's whole swing; weigh the vehicle and find its centre of mass again after each change.",
  "After each change first hover low with the arm parked, then raise the arm's speed in steps.",
  "Write down the abort limits before take-off: fence, tilt, voltage per cell, time without tracking.",
  "Counterpoise never says that a vehicle is safe to fly: local aviation rules, site procedures and licensed practice prevail.",
];
