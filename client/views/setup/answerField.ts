import type { Question } from "../../../src/contract/api/messages.ts";
import { axes } from "../../../src/foundation/tracks.ts";
import { element } from "../../app/element.ts";

/** How one question is answered on the page. */
export interface AnswerField {
  readonly element: HTMLElement;
  /** in the words of the manifest; null while it is open */
  readonly read: () => string | string[] | null;
}

/** what one press of a field's own buttons adds, and the unit that is written behind the number */
const numbers = {
  length: { step: 0.5, unit: "mm" },
  point: { step: 1, unit: "mm" },
  mass: { step: 10, unit: "g" },
  time: { step: 0.1, unit: "s" },
  count: { step: 1, unit: "" },
} as const;

/**
 * The field of a question: numbers with their unit, three of them for a point, marks for a choice and for runs, words for all else.
 * Each works by mouse alone but the last.
 *
 * @param options.id      of the field, or of the first of several
 * @param options.label   id of what names the question
 * @param options.remark  id of what is said beside it
 */
export function answerField(
  { kind, choices, details, path, placeholder }: Question,
  { id, label, remark }: { readonly id: string; readonly label: string; readonly remark: string },
): AnswerField {
  if (kind === "choice" || kind === "runs") {
    const type = kind === "runs" ? "checkbox" : "radio";
    const marks = choices.map((choice) => element("input", { type, name: id, value: choice }));
    const chosen = (): string[] => marks.filter((mark) => mark.checked).map(({ value }) => value);
    return {
      element: element(
        "div",
        {
          class: "marks",
          role: kind === "runs" ? "group" : "radiogroup",
          "aria-labelledby": label,
          "aria-describedby": remark,
        },
        marks.map((mark, k) =>
          element("label", {}, [
            mark,
            ` ${mark.value}`,
            details[k] === "" ? null : element("span", { class: "quiet", text: ` ${details[k]}` }),
          ]),
        ),
      ),
      read: () => {
        const all = chosen();
        if (all.length === 0) return null;
        return kind === "runs" ? all : all[0]!;
      },
    };
  }
  if (kind === "text") {
    const input = element("input", {
      id,
      type: "text",
      maxlength: 500,
      autocomplete: "off",
      placeholder,
      "aria-labelledby": label,
      "aria-describedby": remark,
    });
    return { element: input, read: () => (input.value.trim() === "" ? null : input.value.trim()) };
  }
  const { step } = numbers[kind];
  // an offset between clocks is read in milliseconds
  const isOffset = kind === "time" && path.at(-1) === "offset";
  const unit = isOffset ? "ms" : numbers[kind].unit;
  const inputs = (kind === "point" ? axes : [null]).map((axis, k) =>
    element("input", {
      id: k === 0 ? id : `${id}-${axis}`,
      type: "number",
      step: isOffset ? 1 : step,
      ...(kind === "length" || kind === "mass" || kind === "count" ? { min: 0 } : {}),
      "aria-label": axis === null ? null : `${String(path.at(-1)).replaceAll("_", " ")} ${axis}, ${unit}`,
      "aria-labelledby": axis === null ? label : null,
      "aria-describedby": remark,
    }),
  );
  const numberOf = (input: HTMLInputElement): string | null =>
    input.value === "" || !Number.isFinite(Number(input.value)) ? null : `${Number(input.value)} ${unit}`.trimEnd();
  return {
    element: element("span", { class: "numbers" }, [
      ...inputs.map((input, k) =>
        kind === "point"
          ? element("span", { class: "number" }, [
              element("span", { text: `${axes[k]!} `, "aria-hidden": "true" }),
              input,
            ])
          : input,
      ),
      element("span", { class: "quiet", text: unit }),
    ]),
    read: () => {
      const read = inputs.map(numberOf);
      if (read.some((each) => each === null)) return null;
      return kind === "point" ? (read as string[]) : read[0]!;
    },
  };
}
