import type { CampaignAnswer, CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { ServiceState } from "../../src/contract/api/messages.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import { buildText } from "../../src/words/buildText.ts";
import type { DraftPage } from "../views/setup/draftPage.ts";
import { addressOf, placeAt } from "./address.ts";
import { element, noticeLine } from "./element.ts";
import { fetchAnswer } from "./fetchAnswer.ts";
import { keepSight } from "./keepSight.ts";
import { pageHeader } from "./pageHeader.ts";
import { viewOf } from "./pages.ts";
import { createStage } from "./stage.ts";
import { type StatusWords, statusWords } from "./statusWords.ts";
import { faultPage, waitingPage } from "./waitingPage.ts";
import { watchService } from "./watchService.ts";

const signs: Readonly<Record<StatusWords["kind"], string>> = { working: "…", stale: "!", failed: "!", lost: "!" };

interface StatusLine {
  readonly line: HTMLElement;
  readonly show: (words: StatusWords | null) => void;
}

/** The thin line above the page that says what the service is doing; empty while all is quiet. */
function statusLine(): StatusLine {
  const line = element("div", { class: "status", role: "status" });
  let shown = "";
  return {
    line,
    show: (words) => {
      const now = words === null ? "" : [words.kind, words.text, ...words.details].join("\n");
      // said again only where it changed: it is read out
      if (now === shown) return;
      shown = now;
      line.dataset.kind = words?.kind ?? "";
      line.replaceChildren();
      if (words === null) return;
      line.append(
        element("span", { class: "status-sign", "aria-hidden": "true", text: signs[words.kind] }),
        element("span", { text: words.text }),
        ...words.details.map((text) => element("span", { class: "status-detail", text })),
      );
    },
  };
}

const cautions = [
  "Counterpoise judges logs; it never says that a vehicle is safe to fly. Local aviation rules, site procedures and licensed practice prevail.",
  "Before flying what you read here: props off for bench work; netted or tethered arena and an exclusion zone; kill switch tested; battery care; counterweights mechanically retained and weighed again after each change; first hover low, with the arm parked.",
];

/** The foot of every page: what the tool does not say, and the care that flying with counterweights takes, what made the page. */
function pageFooter(): { footer: HTMLElement; sign: (campaign: CampaignView) => void } {
  const made = element("p", { class: "quiet small" });
  const footer = element("footer", { class: "page-footer" }, [
    ...cautions.map((text) => element("p", { class: "quiet small", text })),
    made,
  ]);
  return {
    footer,
    sign: ({ manifest, tool, truth }) => {
      const bodies = [`vehicle ${truth.vehicle}`, ...(truth.effector === null ? [] : [`effector ${truth.effector}`])];
      made.textContent = `Made from ${manifest} by ${tool.name} ${buildText(tool)}. Source of truth: motion capture, ${bodies.join(", ")}.`;
    },
  };
}

/** What stands on every page, put into an empty one. */
function frame(root: HTMLElement) {
  const header = element("div", { class: "header-place" });
  const status = statusLine();
  const foot = pageFooter();
  const main = element("main", { id: "main", tabindex: "-1" });
  const skip = element("a", {
    class: "skip",
    href: "#main",
    text: "Skip to the page",
    on: {
      click: (event) => {
        event.preventDefault();
        main.focus();
      },
    },
  });
  root.replaceChildren(
    skip,
    header,
    element("div", { class: "lines" }, [status.line, noticeLine()]),
    main,
    foot.footer,
  );
  return { header, status, main, foot };
}

/**
 * The dashboard around its pages: keeps header, status line and page in step with the address and with the service, and
 * fetches again when a new evaluation is served, without taking away what the reader has before them.
 */
export function startShell(root: HTMLElement): void {
  const { header, status, main, foot } = frame(root);
  const stage = createStage(main);
  let answer: CampaignAnswer | null = null;
  let state: ServiceState | null = null;
  let connected = true;
  let asking = false;
  let draft: DraftPage | null = null;

  const served = (of: ServiceState | undefined | null): string => (of ? `${of.version} ${of.evaluated_at}` : "");
  const tellStatus = (): void => {
    const now = state ?? answer?.state;
    if (now === undefined) return;
    // before a first evaluation the page itself says how far it is
    const shown = answer?.campaign !== undefined && answer.campaign !== null;
    status.show(shown || !connected ? statusWords(now, { connected, shown }) : null);
  };
  const drawHeader = (): void => {
    if (!answer?.campaign) return;
    const keep = keepSight(header);
    header.replaceChildren(pageHeader(answer.campaign, answer.state, placeAt(location.hash)));
    keep(header);
    foot.sign(answer.campaign);
    const { title, tool } = answer.campaign;
    const at = answer.state.evaluated_at?.slice(0, 16).replace("T", " ");
    // on every figure that is saved
    document.documentElement.dataset.imprint = `${title}${at === undefined ? "" : `, evaluated ${at} UTC`}, ${tool.name} ${tool.version}`;
  };
  /** Before there is a campaign: how far it is, why it fails, or what its draft leaves open. */
  const wait = async (now: ServiceState): Promise<void> => {
    const isCurrent = (): boolean => answer?.campaign === null && (state ?? now) === now;
    if (draft !== null) {
      const stays = await draft.follow(now).catch(() => true);
      if (stays || !isCurrent()) return;
      draft = null;
    }
    const found = now.status === "failed" ? await askDraft() : null;
    if (!isCurrent() || draft !== null) return;
    draft = found;
    if (found !== null) document.title = "Set-up";
    stage.replace(found?.page ?? waitingPage(now));
  };
  const open = (how: "travel" | "refresh"): void => {
    if (!answer?.campaign) return;
    draft = null;
    drawHeader();
    const place = placeAt(location.hash);
    stage.show({ campaign: answer.campaign, place, go }, how);
  };
  const go = (place: Parameters<typeof addressOf>[0]): void => {
    const address = addressOf(place);
    if (address === location.hash) open("travel");
    else location.hash = address;
  };

  const load = async (): Promise<boolean> => {
    let loaded = true;
    try {
      const before = answer;
      answer = await fetchAnswer<CampaignAnswer>(apiPaths.campaign);
      // what the stream says is younger
      state ??= answer.state;
      if (answer.campaign === null) await wait(state);
      else open(before?.campaign ? "refresh" : "travel");
    } catch (error) {
      loaded = false;
      const again = { text: "Try again", run: ask };
      if (!answer?.campaign) stage.replace(faultPage("The dashboard has nothing to show yet", error, again));
    }
    tellStatus();
    return loaded;
  };
  function ask(): void {
    if (asking) return;
    asking = true;
    void load().then((loaded) => {
      asking = false;
      // an evaluation that ended meanwhile
      if (loaded && answer !== null && state !== null && served(state) !== served(answer.state)) ask();
    });
  }

  // the page's own part comes while the campaign is asked for
  const wanted = placeAt(location.hash);
  if (wanted !== null) viewOf(wanted.page, { blind: false }).catch(() => undefined);
  window.addEventListener("hashchange", () => open("travel"));
  ask();
  watchService({
    connected: (now) => {
      connected = now;
      tellStatus();
    },
    state: (now) => {
      state = now;
      if (answer === null || served(now) !== served(answer.state)) ask();
      else if (answer.campaign === null) void wait(now);
      tellStatus();
    },
  });
}

/** The page of a draft's questions; null where there are none, or none can be asked for: the fault itself is shown then. */
async function askDraft(): Promise<DraftPage | null> {
  try {
    return await (await import("../views/setup/draftPage.ts")).draftPage();
  } catch {
    return null;
  }
}
