// The numbers of now. What does not come any more is not shown as if it did.

import { at, say } from "../dom.js";
import { clock } from "../times.js";
import { LostLately } from "./lately.js";

const SILENT_MS = 1500;
const LOOK_EACH_MS = 500;
const MOST_LOST = 0.03;  // more, and a pass is not kept
const NONE = "–";
const UNREAD_MS = 500;  // between two strings a sensor may see nothing for a moment
const UNREAD = "nothing under the sensor, or out of its range";

const lost = new LostLately();
let heardAt = 0;  // ms since 1970 by this page's clock
let share = 0;
let readAt = 0;  // when there was a reading last

/** A live message; what it says is shown by `drawNumbers`. */
export function hearNumbers(message) {
  heardAt = Date.now();
  share = lost.share(message);
  if (message.z_mm !== null) readAt = heardAt;
}

/** Shows the newest message. */
export function drawNumbers({ z_mm: z, x_mm: x, rate_hz: rate }) {
  say("reading", z === null ? NONE : z.toFixed(3));
  say("unread", heardAt - readAt > UNREAD_MS ? UNREAD : "");
  say("position", x === null ? NONE : x.toFixed(2));
  say("rate", rate.toFixed(rate < 100 ? 1 : 0));
  say("lost", (100 * share).toFixed(share < 0.1 ? 2 : 0));
  at("lost-box").classList.toggle("bad", share > MOST_LOST);
  at("still").hidden = true;
}

/** The rate that the rig file asks for. */
export function showAskedRate(rate_hz) {
  say("rate-asked", `of ${rate_hz}`);
}

/** From now on, numbers that nothing renews are taken away. */
export function watchForSilence() {
  setInterval(() => {
    if (heardAt === 0 || Date.now() - heardAt < SILENT_MS || !at("still").hidden) return;
    for (const id of ["reading", "position", "rate", "lost"]) say(id, NONE);
    say("unread", "");
    say("still", `Nothing has come since ${clock(new Date(heardAt))}.`);
    at("still").hidden = false;
  }, LOOK_EACH_MS);
}
