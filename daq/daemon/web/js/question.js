// What the work asks of a person: seen in every view, answered once, wherever.

import { ask } from "./ask.js";
import { at, say } from "./dom.js";
import { tell } from "./told.js";

const TYPED = "input, textarea, select, [contenteditable]";
const ELSEWHERE = "The question was answered elsewhere: in a terminal or on another page.";

const MAY_IT = "Go on?";  // how a question ends that asks whether the work may begin

let asked = null;  // {id, text}
let seen = false;  // it was drawn, not only told of after it was over
let answered = null;  // the id of the one that this page answered
let before = null;  // what had the focus

/** What the two answers are called: [goes on, gives up]. */
export const answerWords = (text) =>
  (text.endsWith(MAY_IT) ? ["Go on", "Not now"] : ["Done", "Give up"]);

/** Shows a question, or none. */
export function showQuestion(question) {
  if (question?.id === asked?.id) return;
  const hadFocus = at("question").contains(document.activeElement);
  asked = question;
  seen = false;
  at("question").hidden = asked === null;
  say("question-text", asked?.text ?? "");
  const [goOn, giveUp] = answerWords(asked?.text ?? "");
  say("question-done", goOn);
  say("question-stop", giveUp);
  wait(false);
  if (asked !== null) requestAnimationFrame(() => seeIt(question));
  else if (hadFocus && before?.isConnected) before.focus();
}

/** A question is over, whoever answered it. */
export function questionOver(id) {
  if (asked?.id !== id) return;
  if (seen && answered !== id) tell(ELSEWHERE, { about: "question" });
  showQuestion(null);
}

/** Listens to the buttons. */
export function takeAnswers() {
  at("question-done").addEventListener("click", () => answer("done"));
  at("question-stop").addEventListener("click", () => answer("stop"));
}

/** The question takes the focus, not its button, and not from under a person's typing. */
function seeIt(question) {
  if (asked !== question) return;
  seen = true;
  before = document.activeElement;
  if (!before?.matches(TYPED)) at("question").focus();
}

async function answer(word) {
  const { id } = asked;
  wait(true);
  try {
    answered = id;
    await ask(`/v1/questions/${id}`, { answer: word });
    showQuestion(null);
  } catch (fault) {
    answered = null;
    if (fault.status === 409) questionOver(id);
    else tell(fault.message, { about: "question", bad: true });
    wait(false);
  }
}

function wait(on) {
  for (const id of ["question-done", "question-stop"]) at(id).disabled = on;
}
