import type { ServiceState } from "../../../src/contract/api/messages.ts";
import { element } from "../../app/element.ts";
import { themeSwitch } from "../../app/theme.ts";
import { questionsPart } from "./questionsPart.ts";

/** The page Set-up before there is a campaign: a draft with the places that only a person can fill in. */
export interface DraftPage {
  readonly page: HTMLElement;
  /** Follows the service, and keeps what the reader has filled in. @returns false once nothing is open: then this page is at its end */
  readonly follow: (state: ServiceState) => Promise<boolean>;
}

/** @returns null where the manifest leaves nothing open */
export async function draftPage(): Promise<DraftPage | null> {
  const questions = questionsPart();
  if ((await questions.refresh()) === 0) return null;
  return {
    page: element("section", { class: "page draft" }, [
      element("h1", { text: "Set-up", tabindex: "-1" }),
      element("p", {
        class: "reading",
        text: "The manifest is a draft. Once its open places are filled in, the logs are read and this page draws the rig: what was declared against what was flown. The answer stays closed until you open it.",
      }),
      questions.element,
      element("p", { class: "no-print" }, [
        element("a", { href: "/manual/manifest.html", text: "What a manifest says" }),
        " ",
        themeSwitch(),
      ]),
    ]),
    follow: async ({ status }) => {
      if (status === "failed") return (await questions.refresh()) > 0;
      return status === "evaluating" && questions.element.childElementCount > 0;
    },
  };
}
