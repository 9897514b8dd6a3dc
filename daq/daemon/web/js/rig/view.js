// The rig's view: what the event stream tells, drawn. No part of it moves the rig.

import { at } from "../dom.js";
import { hear, watchConnection } from "../stream.js";
import { addView } from "../views.js";
import { showHealth, showLateness } from "./health.js";
import { Lateness } from "./lately.js";
import { drawNumbers, hearNumbers, watchForSilence } from "./numbers.js";
import {
  clearProfile, describeProfile, drawProfile, hearProfile, readProfile, setUpProfile,
} from "./profile.js";
import { describeTrace, drawTrace, hearTrace, setUpTrace } from "./trace.js";

const SLOWLY_MS = 5000;

const lateness = new Lateness();
let live = null;
let shown = false;
let waits = false;
let described = false;
let told = false;  // a message came since it was last drawn

/** Sets the view up. Its events may come from now on. */
export function setUpRig() {
  setUpTrace(draw);
  setUpProfile(draw);
  watchForSilence();
  hear("live", (message) => {
    live = message;
    told = true;
    hearNumbers(message);
    hearTrace(message);
    hearProfile(message);
    draw();
  });
  hear("profile_cleared", () => { clearProfile(); draw(); });
  watchConnection(({ connected }) => connected && readProfile().then(draw));
  for (const kind of ["rig", "fault", "fault_over"]) hear(kind, () => shown && showHealth());
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
  addView("rig", { show, hide });
  setInterval(slowly, SLOWLY_MS);
}

function show() {
  shown = true;
  at("rig-view").hidden = false;
  slowly();
  draw();
}

function hide() {
  shown = false;
  at("rig-view").hidden = true;
}

function draw() {
  if (waits || !shown) return;
  waits = true;
  requestAnimationFrame(drawNow);
}

function drawNow() {
  waits = false;
  drawProfile();
  drawTrace();
  if (!told) return;
  drawNumbers(live);
  lateness.drawn(Date.now(), live.from_ms);
  told = false;
  if (!described) describe();
}

/** What need not be of this moment: health, and the pictures in words. */
function slowly() {
  if (!shown) return;
  showLateness(lateness.found);
  showHealth();
  describe();
}

function describe() {
  describeTrace();
  describeProfile();
  described = live !== null;
}
