import "../../style/setup.css";
import type { AnswersRequest, Question, QuestionsAnswer } from "../../../src/contract/api/messages.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import { element, notify } from "../../app/element.ts";
import { AnswerError, fetchAnswer, sendChange } from "../../app/fetchAnswer.ts";
import { countText } from "../../app/words.ts";
import { type AnswerField, answerField } from "./answerField.ts";

/** What the manifest leaves open, to be answered here. */
export interface QuestionsPart {
  /** empty while nothing is open */
  readonly element: HTMLElement;
  /** Asks again what is open; a field whose question stands as it stood keeps what was filled in. @returns how many are open */
  readonly refresh: () => Promise<number>;
}

interface Standing {
  readonly key: string;
  readonly row: HTMLElement;
  readonly field: AnswerField;
  readonly question: Question;
}

/** The questions of a draft with their fields. Answers go into the manifest together, or those that are filled in. */
export function questionsPart(): QuestionsPart {
  const root = element("div", { class: "questions-place" });
  let standing: readonly Standing[] = [];
  let stamp = "";
  const fault = element("div", { class: "dialog-fault", role: "alert" });
  const send = element("button", { type: "submit" });
  const rows = element("div", { class: "questions" });
  const heading = element("h2", { id: "questions-title" });
  const form = element("form", { novalidate: true, "aria-labelledby": "questions-title" }, [
    heading,
    element("p", {
      class: "reading",
      text: "Logs do not say these. Each answer is written into its place in the manifest; every comment and all else in it stays as it is.",
    }),
    rows,
    fault,
    element("p", {}, [send]),
  ]);

  const show = (answer: QuestionsAnswer): void => {
    stamp = answer.stamp;
    const before = standing;
    standing = answer.questions.map((question) => {
      const key = JSON.stringify([question.path, question.placeholder, question.choices]);
      return before.find((one) => one.key === key) ?? { key, question, ...rowOf(question) };
    });
    rows.replaceChildren(...standing.map(({ row }) => row));
    heading.textContent = `${answer.manifest} leaves ${countText(standing.length, "place")} open`;
    send.textContent = `Write into ${answer.manifest}`;
    if (standing.length === 0) root.replaceChildren();
    else if (!root.contains(form)) root.replaceChildren(form);
  };
  const refresh = async (): Promise<number> => {
    show(await fetchAnswer<QuestionsAnswer>(apiPaths.questions));
    return standing.length;
  };

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    for (const { row } of standing) row.classList.remove("refused");
    const answers = standing.flatMap(({ question: { path }, field }) => {
      const answer = field.read();
      return answer === null ? [] : [{ path, answer }];
    });
    if (answers.length === 0) {
      fault.textContent = "Please answer at least one of them.";
      return;
    }
    fault.textContent = "";
    send.disabled = true;
    const request: AnswersRequest = { stamp, answers };
    sendChange<QuestionsAnswer>("POST", apiPaths.questions, request)
      .then(
        (answer) => {
          show(answer);
          const left = answer.questions.length;
          notify(
            `${countText(answers.length, "answer")} written into ${answer.manifest}${left === 0 ? "" : `; ${left} still open`}.`,
          );
        },
        async (error: unknown) => {
          const known = error instanceof AnswerError ? error : null;
          fault.replaceChildren(
            ...["Nothing was written.", ...(error instanceof Error ? error.message.split("\n") : [])].map((text) =>
              element("p", { text }),
            ),
          );
          for (const { row, question } of standing)
            row.classList.toggle("refused", error instanceof Error && error.message.includes(dottedOf(question)));
          if (known?.code === "manifest-changed" || known?.code === "unknown-question") await refresh();
        },
      )
      .catch(() => undefined)
      .finally(() => {
        send.disabled = false;
      });
  });
  return { element: root, refresh };
}

let rowsMade = 0;

function rowOf(question: Question): Pick<Standing, "row" | "field"> {
  const k = ++rowsMade;
  const ids = { id: `answer-${k}`, label: `question-${k}`, remark: `remark-${k}` };
  const field = answerField(question, ids);
  const [section, owner] = question.path;
  const key = String(question.path.findLast((step) => typeof step === "string")).replaceAll("_", " ");
  const isOwned = section === "configurations" || section === "trajectories" || section === "signals";
  const name = isOwned && question.path.length > 2 ? `${key} of ${owner}` : key;
  return {
    field,
    row: element("div", { class: "question" }, [
      element("p", { id: ids.label, class: "question-name" }, [
        element("strong", { text: name }),
        element("span", { class: "quiet small", text: ` ${dottedOf(question)}` }),
      ]),
      element("p", { id: ids.remark, class: "small", text: question.remark }),
      field.element,
    ]),
  };
}

/** As the service's messages name a place. */
function dottedOf({ path }: Question): string {
  return path.map((step, k) => (typeof step === "number" ? `#${step + 1}` : k === 0 ? step : `.${step}`)).join("");
}
