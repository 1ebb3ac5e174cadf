import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import { addressOf } from "./address.ts";
import { capital, element, placeName } from "./element.ts";
import { AnswerError } from "./fetchAnswer.ts";
import { keepSight } from "./keepSight.ts";
import { viewOf } from "./pages.ts";
import type { Place } from "./View.ts";
import { faultPage } from "./waitingPage.ts";

/** a page that is ready within this is put up whole, without a flash of loading, milliseconds */
const patience = 300;
/** marks entries of the history that were stood on: coming back is distinguished from a first visit */
const visited = "visited";

export interface Scene {
  readonly campaign: CampaignView;
  readonly place: Place | null;
  readonly go: (place: Place) => void;
}

export interface Stage {
  /** Puts up a page: `travel` begins at its top (or where the reader left it), `refresh` keeps what is before the reader. */
  readonly show: (scene: Scene, how: "travel" | "refresh") => void;
  /** Puts up something that is no page. */
  readonly replace: (content: HTMLElement) => void;
}

interface Standing {
  readonly page: HTMLElement;
  readonly address: string;
  readonly leave: AbortController;
}

/** Where pages appear. One stands at a time; the next is drawn behind it and put up when it is ready. */
export function createStage(main: HTMLElement): Stage {
  let standing: Standing | null = null;
  let coming: AbortController | null = null;
  /** how far the reader had scrolled, by address: going back leads to the same sight */
  const scrolled = new Map<string, number>();
  let first = true;
  history.scrollRestoration = "manual";
  lightRuns(main);

  const settle = (page: HTMLElement, title: string, address: string, leave: AbortController): void => {
    const old = standing;
    const restore = old?.address === address ? keepSight(old.page) : null;
    old?.leave.abort();
    for (const child of [...main.children]) if (child !== page) child.remove();
    page.classList.remove("behind");
    standing = { page, address, leave };
    coming = null;
    document.title = title;
    if (restore !== null) restore(page);
    else {
      window.scrollTo(0, history.state === visited ? (scrolled.get(address) ?? 0) : 0);
      if (!first) (page.querySelector<HTMLElement>("h1") ?? main).focus({ preventScroll: true });
    }
    history.replaceState(visited, "");
    first = false;
  };

  return {
    replace: (content) => {
      coming?.abort();
      standing?.leave.abort();
      standing = null;
      main.replaceChildren(content);
    },
    show: (scene, how) => {
      const address = location.hash;
      coming?.abort();
      const leave = new AbortController();
      coming = leave;
      if (standing !== null && standing.address !== address) scrolled.set(standing.address, window.scrollY);
      const page = element("div", { class: "page behind" });
      for (const child of main.querySelectorAll(".behind")) child.remove();
      main.append(page);
      let up = false;
      const putUp = (): void => {
        if (up || leave.signal.aborted) return;
        up = true;
        settle(page, windowTitle(scene), address, leave);
      };
      if (scene.place === null) {
        page.append(nowhere());
        putUp();
        return;
      }
      if (how === "travel") setTimeout(putUp, patience);
      void draw(page, scene, scene.place, leave.signal).then((drawn) => {
        const waits = up && standing?.page === page && document.activeElement === main;
        if (waits) page.querySelector<HTMLElement>("h1")?.focus({ preventScroll: true });
        // where only the connection broke, what stands is better than nothing
        if (drawn === "no-connection" && how === "refresh") page.remove();
        else putUp();
      });
    },
  };

  async function draw(
    page: HTMLElement,
    { campaign, go }: Scene,
    place: Place,
    left: AbortSignal,
  ): Promise<"drawn" | "no-connection"> {
    const note = (noted: Place): void => {
      if (left.aborted) return;
      history.replaceState(history.state, "", addressOf(noted));
      if (standing?.page === page) standing = { ...standing, address: location.hash };
    };
    try {
      const view = await viewOf(place.page, campaign);
      await view(page, { campaign, place, go, note, left });
    } catch (error) {
      if (left.aborted) return "drawn";
      const again = { text: "Try again", run: () => go(place) };
      page.replaceChildren(faultPage("This page cannot be shown", error, again));
      if (error instanceof AnswerError && error.code === "no-connection") return "no-connection";
    }
    return "drawn";
  }
}

function windowTitle({ place, campaign }: Scene): string {
  return [placeTitle(place, campaign), campaign.title].filter((part) => part !== "").join(" – ");
}

function nowhere(): HTMLElement {
  return element("section", {}, [
    element("h1", { text: "There is no such page", tabindex: "-1" }),
    element("p", { text: "The address does not name a cell, a run or a trajectory in a way this page knows." }),
    element("p", {}, [element("a", { href: "#/", text: "To the answer" })]),
  ]);
}

/** The name of a place, for the window's title. */
function placeTitle(place: Place | null, { blind }: { readonly blind: boolean }): string {
  switch (place?.page) {
    case "answer":
      return blind ? "Set-up" : "Answer";
    case "cell":
      return capital(placeName(place));
    case "run":
      return `Run ${place.run}`;
    case "compare":
      return `${place.first} and ${place.second}`;
    case "synchronous":
      return `Arm-synchronous error, ${place.trajectory}`;
    case "setup":
      return "Set-up";
    case "check":
      return blind ? "Check" : "Answer";
    case "why":
      return "Why";
    case "costs":
      return "What it costs";
    case "audit":
      return "Audit";
    case "bench":
      return "On the bench";
    case "plan":
      return "Next flights";
    default:
      return "Not found";
  }
}

/**
 * Lights up a run everywhere on the page while it is pointed at or has the focus anywhere: every part that shows a run carries
 * its name as `data-run`.
 *
 * @param root  within which runs are found, whatever is drawn there later
 */
function lightRuns(root: HTMLElement): void {
  let lit: string | null = null;
  const light = (run: string | null): void => {
    if (run === lit) return;
    lit = run;
    for (const part of root.querySelectorAll(".lit")) part.classList.remove("lit");
    if (run === null) return;
    for (const part of root.querySelectorAll(`[data-run="${CSS.escape(run)}"]`)) part.classList.add("lit");
  };
  const runOf = (target: EventTarget | null): string | null =>
    (target as Element | null)?.closest?.("[data-run]")?.getAttribute("data-run") ?? null;
  root.addEventListener("pointerover", (event) => light(runOf(event.target)));
  root.addEventListener("pointerleave", () => light(runOf(document.activeElement)));
  root.addEventListener("focusin", (event) => light(runOf(event.target)));
  root.addEventListener("focusout", () => light(null));
}
