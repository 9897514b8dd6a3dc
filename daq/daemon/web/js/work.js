// The work under way, seen in every view.

import { ask } from "./ask.js";
import { at, made, say } from "./dom.js";
import * as steps from "./steps.js";
import { clock } from "./times.js";
import { forget, tell } from "./told.js";

const OURS = "neckform began";  // in the tab's own storage: it outlives a reload
const watchers = [];
let work = null;
let since = "";
let travel_mm = [0, 0];

/** A work that this page itself began, by its id: it is not said to be somebody else's. */
export function beganHere(id) {
  sessionStorage.setItem(OURS, id);
  draw();
}

/** fn gets whether a work is under way or asks to be, now and whenever that changes. */
export function watchWork(fn) {
  watchers.push(fn);
  fn(work !== null);
}

/** The id of the work under way, or null. */
export const workNow = () => work?.id ?? null;

/** Where the carriage can go, so that a pass knows how far it is. */
export function setTravel(travel) {
  travel_mm = travel;
}

/** A work began, or is under way; at: a Date. */
export function workBegan(id, kind, at) {
  if (work?.id === id && work.begun) return;
  begin(steps.begunWork(id, kind), at);
}

/** A work asks something of a person; where it is not known yet, it asks whether it may begin. */
export function workAsks(id, kind, at) {
  if (work?.id === id) work = { ...work, asks: true };
  else begin(steps.begunWork(id, kind, false), at);
  draw();
}

/** It asks no more. */
export function workAnswered(id) {
  if (work?.id !== id) return;
  work = { ...work, asks: false };
  draw();
}

function begin(anew, at) {
  forget("work");
  work = anew;
  since = clock(at);
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
export function workEnded({ work: id, kind, state, why }) {
  const begun = work?.id === id ? work.begun : true;
  const words = steps.endWords({ kind, begun }, state, why);
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
  if (at("work").hidden !== (work === null)) {
    at("work").hidden = work === null;
    for (const fn of watchers) fn(work !== null);
  }
  if (work === null) return;
  const elsewhere = sessionStorage.getItem(OURS) === work.id ? ""
    : ", asked for in a terminal or on another page";
  say("work-title", steps.workTitle(work));
  say("work-who", `since ${since}${elsewhere}`);
  say("work-now", steps.nowWords(work));
  at("work-stop").hidden = !work.begun;  // its question has a button for that
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
