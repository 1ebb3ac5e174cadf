import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { ServiceState } from "../../src/contract/api/messages.ts";
import { addressOf } from "./address.ts";
import { element } from "./element.ts";
import { roleSigns } from "./statusWords.ts";
import { themeSwitch } from "./theme.ts";
import type { Place } from "./View.ts";
import { countText, massText } from "./words.ts";

/** The head of every page: whose campaign, which configurations by which sign, where else to go. */
export function pageHeader(campaign: CampaignView, state: ServiceState, place: Place | null): HTMLElement {
  return element("header", { class: "page-header" }, [
    element("div", { class: "title-line" }, [
      element("p", { class: "campaign-title" }, [
        element("a", { href: "#/", text: campaign.title || campaign.manifest }),
      ]),
      navigation(campaign, place),
    ]),
    element("div", { class: "key-line" }, [
      element(
        "ul",
        { class: "configurations", "aria-label": "Configurations" },
        campaign.configurations.map(configuration),
      ),
      element("p", { class: "quiet small imprint", text: imprint(campaign, state) }),
    ]),
  ]);
}

/** When these verdicts were made, and how often these flights were looked at. */
function imprint({ looks, blind }: CampaignView, { evaluated_at: at }: ServiceState): string {
  if (blind)
    return `blind: no answer, no look${at === null ? "" : `; checked ${at.slice(0, 16).replace("T", " ")} UTC`}`;
  const when = at === null ? "" : `evaluated ${at.slice(0, 16).replace("T", " ")} UTC`;
  const looked = looks.count > 1 ? `look ${looks.count} at these flights` : "";
  return [when, looked].filter((part) => part !== "").join(", ");
}

function configuration({
  label,
  name,
  role,
  added_mass: mass,
  runs,
  used,
}: CampaignView["configurations"][number]): HTMLElement {
  const facts = [
    role === "other" ? "" : role,
    mass === null ? "" : `+${massText(mass)}`,
    used === runs ? countText(runs, "run") : `${used} of ${countText(runs, "run")} used`,
  ].filter((fact) => fact !== "");
  return element("li", {}, [
    element("span", { class: `sign ${role}`, "aria-hidden": "true", text: roleSigns[role] }),
    element("strong", { text: label || name }),
    element("span", { class: "quiet", text: ` ${facts.join(", ")}` }),
  ]);
}

function navigation(campaign: CampaignView, place: Place | null): HTMLElement {
  const link = (text: string, to: Place, here: boolean): HTMLElement =>
    element("li", {}, [element("a", { href: addressOf(to), text, "aria-current": here ? "page" : null })]);
  const subject = campaign.subjects.includes("effector") ? "effector" : "vehicle";
  const cyclic = campaign.trajectories.filter(({ shape }) => shape !== "hold");
  if (campaign.blind) {
    return element("nav", { class: "no-print", "aria-label": "Pages" }, [
      element("ul", {}, [
        link("Set-up", { page: "setup" }, place?.page === "setup" || place?.page === "answer"),
        link("Check", { page: "check" }, place?.page === "check"),
        link("Audit", { page: "audit" }, place?.page === "audit"),
        element("li", {}, [element("a", { href: "/manual/", text: "Manual" })]),
        element("li", {}, [themeSwitch()]),
      ]),
    ]);
  }
  return element("nav", { class: "no-print", "aria-label": "Pages" }, [
    element("ul", {}, [
      link("Answer", { page: "answer", metric: null }, place?.page === "answer" || place?.page === "check"),
      ...cyclic.map(({ name }) =>
        link(
          `Arm-synchronous, ${name}`,
          { page: "synchronous", trajectory: name, subject },
          place?.page === "synchronous" && place.trajectory === name,
        ),
      ),
      link("Set-up", { page: "setup" }, place?.page === "setup"),
      ...(campaign.bench ? [link("On the bench", { page: "bench" }, place?.page === "bench")] : []),
      link("Why", { page: "why" }, place?.page === "why"),
      ...(campaign.costs === null ? [] : [link("What it costs", { page: "costs" }, place?.page === "costs")]),
      link("Audit", { page: "audit" }, place?.page === "audit"),
      link("Next flights", { page: "plan", runs: null, blocks: null, seed: null, sham: false }, place?.page === "plan"),
      element("li", {}, [element("a", { href: "/manual/", text: "Manual" })]),
      element("li", {}, [themeSwitch()]),
    ]),
  ]);
}
