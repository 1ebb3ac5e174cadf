import { type Subject, subjects } from "../../../src/foundation/signals.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import type { Place } from "../../app/place.ts";

const words: Readonly<Record<Subject, readonly [string, string]>> = {
  vehicle: ["Vehicle", "body point in the world"],
  effector: ["End effector", "tool point in the world"],
  arm: ["Arm", "tool point relative to the vehicle"],
};

/** Links to the same page for another subject: what stands in the address can be reached by it. */
export function subjectSwitch(
  present: readonly Subject[],
  chosen: Subject,
  placeOf: (subject: Subject) => Place,
): HTMLElement {
  return element("nav", { class: "subject-switch no-print", "aria-label": "What is judged" }, [
    element(
      "ul",
      {},
      subjects
        .filter((subject) => present.includes(subject) || subject === chosen)
        .map((subject) =>
          element("li", {}, [
            element("a", { href: addressOf(placeOf(subject)), "aria-current": subject === chosen ? "page" : null }, [
              element("strong", { text: words[subject][0] }),
              element("span", { class: "quiet", text: ` ${words[subject][1]}` }),
            ]),
          ]),
        ),
    ),
  ]);
}
