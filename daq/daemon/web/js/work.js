// The work under way, seen in every view.

import { ask } from "./ask.js";
import { at, made, say } from "./dom.js";
import * as steps from "./steps.js";
import { clock } from "./times.js";
import { forget, tell } from "./told.js";

const ours = new Set();  // ids of works that this page began
let work = null;
let begun = "";
let travel_mm = [0, 0];

/** A work that this page itself began, by its id: it is not said to be somebody else's. */
export function beganHere(id) {
  ours.add(id);
  draw();
}

/** The id of the work under way, or null. */
export const workNow = () => work?.id ?? null;

/** Where the carriage can go, so that a pass knows how far it is. */
export function setTravel(travel) {
  travel_mm = travel;
}

/** A work began, or is under way; at: a Date. */
export function workBegan(id, kind, since) {
  if (work?.id === id) return;
  forget("work");
  work = steps.begunWork(id, kind);
  begun = clock(since);
  stopping(false);
  draw();
}

/** No work is under way. */
export function noWork() {
  work = null;
  draw();
}

/** An event of the kind `progress`. */
export function progressed({ work: id, step, with: told }) {
  if (work === null || work.id !== id) return;
  work = steps.after(work, step, told, travel_mm);
  draw();
}

/** An event of the kind `work_ended`. */
export function workEnded({ kind, state, why }) {
  const words = steps.endWords(kind, state, why);
  if (words !== null) tell(words, { about: "work", bad: state === "failed" });
  noWork();
}

/** Listens to the button. */
export function takeStop() {
  at("work-stop").addEventListener("click", async () => {
    if (work === null) return;
    stopping(true);
    try {
      await ask(`/v1/work/${work.id}/cancel`, {});
    } catch (fault) {
      tell(fault.message, { about: "work", bad: true });
      stopping(false);
    }
  });
}

function stopping(on) {
  at("work-stop").disabled = on;
  say("work-stop", on ? "Stopping" : "Stop");
}

function draw() {
  at("work").hidden = work === null;
  if (work === null) return;
  say("work-title", steps.workTitle(work));
  say("work-who", `since ${begun}${ours.has(work.id) ? "" : ", begun in a terminal or elsewhere"}`);
  say("work-now", work.now);
  bar(steps.shareDone(work));
  said(work.said);
}

function bar(share) {
  at("work-bar").style.width = `${(100 * share).toFixed(1)}%`;
  const whole = at("work-bar").parentElement;
  whole.hidden = work.total === 0;
  const now = String(Math.round(100 * share));
  if (whole.getAttribute("aria-valuenow") !== now) whole.setAttribute("aria-valuenow", now);
}

function said(lines) {
  const list = at("work-said");
  if ([...list.children].map((line) => line.textContent).join("\n") === lines.join("\n")) return;
  list.replaceChildren(...lines.map((line) => made("li", line, steps.isOver(line) ? "over" : "")));
}
