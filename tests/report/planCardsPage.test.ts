import { expect, test } from "vitest";
import { compareCampaign } from "../../src/comparison/compareCampaign.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { planOf } from "../../src/pipeline/planFlights.ts";
import { cardsStart, planCardsPage } from "../../src/report/plan/planCardsPage.ts";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";

const runs = inventedRuns(
  [4, 5, 6, 3].map((mm, i) => ({ configuration: i % 2 === 0 ? "bare" : "weighted", block: "day1", value: mm / 1000 })),
);
const campaign = inventedCampaign(runs);
const made = (own = campaign) => planOf(own, { runs, cells: compareCampaign(own, runs, defaultSettings) }, { seed: 5 });
const { plan, day } = made();
const page = planCardsPage(plan, day, {
  title: "Tank wall",
  trajectories: { orbit: "circle in yz" },
  sham: null,
  judged: {},
});
const cards = page.split('<article class="card">').slice(1);
const flights = day.cards.filter(({ kind }) => kind === "flight");

test("one card per capture and flight in the order to be flown, each with what is to be checked", () => {
  expect(page.startsWith(cardsStart)).toBe(true);
  expect(cards).toHaveLength(day.cards.length);
  day.cards.forEach((card, k) => {
    expect(cards[k]).toContain(`<h2>${card.place}. ${card.id ?? "Static capture"}<span>block ${card.block}`);
    expect(cards[k]).toContain(card.log);
    const asked =
      card.kind === "flight"
        ? [
            day.configurations.find(({ name }) => name === card.configuration)!.label,
            "orbit: circle in yz",
            `${card.battery}, flight ${card.flight_on_battery} on it`,
            card.refit ? "Refit before this flight" : "No refit",
            ...[
              "Props sound",
              "fastened twice",
              "Take-off mass",
              "Battery voltage",
              "one window for all flights",
              "Both bodies tracked",
            ],
            ...["Kill switch tested", "Arena clear", "Fence", "Tilt", "Voltage per cell", "Tracking lost for"],
            ...["Completed", "Aborted", "Remarks"],
          ]
        : ["Props off", "Both bodies in view", "60 s"];
    for (const words of asked) expect(cards[k]).toContain(words);
    expect(cards[k]!.includes("A/A pair")).toBe(card.pair);
  });
});

test("the cover has the whole order, the seed and the cautions", () => {
  const cover = page.slice(0, page.indexOf('class="page"'));
  expect(cover).toContain("Test cards: Tank wall");
  expect(cover).toContain(`seed of the order ${day.seed}`);
  expect(cover.match(/<tr[ >]/g)).toHaveLength(day.cards.length + 1);
  for (const { id } of flights) expect(cover).toContain(`<td>${id}</td>`);
  expect(cover).toContain("licensed practice prevail");
});

test("the page stands by itself: no script, nothing fetched, light, cards kept whole in print", () => {
  expect(page).not.toMatch(/<script|<link|<img|<iframe|https?:|url\(|@import|\son\w+=/i);
  expect(page).toContain("default-src 'none'");
  expect(page).toContain("color-scheme: light");
  expect(page).toContain("break-inside: avoid");
  expect(page).toContain("break-after: page");
});

test("names in a page are text, whatever they hold", () => {
  const evil = "</style></title><script>alert(\"x\")</script><img src=x onerror='y'>&amp;";
  const own = inventedCampaign(runs, {
    configurations: { ...campaign.configurations, bare: { label: evil, addedMass: null, counterweights: [] } },
  });
  const turned = String.fromCodePoint(0x202e, 7);
  const { day: hostile } = made(own);
  const dayOfEvil = {
    ...hostile,
    cards: hostile.cards.map((card) => ({ ...card, log: evil, block: evil, battery: card.battery && evil })),
  };
  const found = planCardsPage({ because: evil }, dayOfEvil, {
    title: `${evil}${turned}`,
    trajectories: { orbit: evil },
    judged: {},
    sham: evil,
  });
  expect(found).not.toMatch(/<script|<img|onerror='/);
  expect(found.match(/<\/style>/g)).toHaveLength(1);
  expect(found.match(/<\/title>/g)).toHaveLength(1);
  expect(found).toContain(
    "&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt;&lt;img src=x onerror=&#39;y&#39;&gt;&amp;amp;",
  );
  for (const mark of turned) expect(found).not.toContain(mark);
});
