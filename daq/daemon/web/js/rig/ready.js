// What makes the rig ready, as buttons; what the last of it found stands there until the next.

import { ask } from "../ask.js";
import { at, made, say } from "../dom.js";
import { readNumber } from "../job/entry.js";
import { workName } from "../steps.js";
import { hear, whenBack } from "../stream.js";
import { clock } from "../times.js";
import { tell } from "../told.js";
import { beganHere, watchWork } from "../work.js";
import { newestShown, railAsked, READY, verdictOf } from "./readywords.js";

/** Listens to the buttons, and to what comes of them, whoever began it. */
export function setUpReady() {
  for (const form of document.querySelectorAll("#ready form")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      begin(form.dataset.kind);
    });
  }
  watchWork((busy) => {
    for (const press of document.querySelectorAll("#ready form button")) press.disabled = busy;
  });
  hear("work_ended", async ({ work, kind, state }) => {
    if (!READY.includes(kind) || state === "stopped") return;
    const line = await showFound(work, kind, new Date());
    if (state === "done" && line) tell(line, { about: "work" });
  });
  whenBack(showLast);
  showLast();
}

async function begin(kind) {
  say("ready-fault", "");
  const { asked, fault } = kind === "calibrate rail"
    ? railAsked(at("straightedge").value, readNumber) : { asked: { kind } };
  if (fault !== undefined) {
    say("ready-fault", `The straightedge's own error: ${fault}`);
    at("straightedge").focus();
    return;
  }
  try {
    beganHere((await ask("/v1/work", asked)).id);
  } catch ({ message }) {
    say("ready-fault", message);
  }
}

/** Of the works that the daemon remembers. */
async function showLast() {
  const last = newestShown(await ask("/v1/work").catch(() => []));
  if (last !== undefined) showFound(last.id, last.kind, new Date(last.began));
}

/** What a work found, or why it failed; all of it in a line, or none where the daemon is away. */
async function showFound(id, kind, when) {
  try {
    const { result } = await ask(`/v1/work/${id}/result`);
    return show(kind, when, verdictOf(kind, result), result.sentences);
  } catch (fault) {
    if (fault.status === undefined) throw fault;
    const failed = { tone: "bad", verdict: "▲ It did not come to an end" };
    return fault.status === 0 ? "" : show(kind, when, failed, [fault.message]);
  }
}

function show(kind, when, { tone, verdict }, lines) {
  say("found-title", `${workName(kind)}, ${clock(when)}`);
  say("found-verdict", verdict);
  at("found").dataset.tone = tone;
  at("found-lines").replaceChildren(...lines.map((line) => made("li", line)));
  at("found").hidden = false;
  return `${workName(kind)}: ${verdict.slice(2)}.`;
}
