// The last 20 seconds of readings, as they come.

import { at, say } from "../dom.js";
import { Recent } from "./recent.js";
import { axis } from "./scale.js";
import { Sheet } from "./sheet.js";
import { band, between, frame, heights, mostHeights, nothing, rule } from "./strokes.js";

const SPAN_MS = 20000;
const LEAST_MM = 0.02;
const HOLE_MS = 300;  // the slowest sensors send four times a second

const recent = new Recent();
let sheet = null;
let now_ms = 0;
let spread = "nothing read";

/** Sets the picture up. redraw: called where its size changed. */
export function setUpTrace(redraw) {
  sheet = new Sheet(at("trace"), redraw);
}

/** A live message. */
export function hearTrace(message) {
  recent.add(message);
  now_ms = message.at_ms;
}

/** Draws it as it is now. */
export function drawTrace() {
  if (now_ms === 0 || !sheet.clear()) return;
  const { pen } = sheet;
  const box = frame(sheet);
  const wide = Math.round(box.right - box.left);
  const columns = recent.columns(now_ms - SPAN_MS, now_ms, wide);
  const x = between(-SPAN_MS / 1000, 0, box.left, box.right);
  rule(pen, box, [-SPAN_MS / 1000, 0], x, {
    long: 5, short: 1, words: (s) => (s === 0 ? "now" : `${-s} s ago`) });
  const found = columns.extremes;
  spread = found === null ? "nothing read"
    : `${found[0].toFixed(3)} to ${found[1].toFixed(3)} mm, ${micrometres(found[1] - found[0])} apart`;
  if (found === null) {
    nothing(pen, box, "nothing read");
    return;
  }
  const scale = axis(...found, LEAST_MM, Math.min(4, mostHeights(box)));
  const y = between(scale.from, scale.to, box.bottom, box.top);
  heights(pen, box, scale, y);
  band(pen, columns, box.left, y, (HOLE_MS / SPAN_MS) * wide);
}

/** Says in words what the picture shows: at a slow pace, for who cannot see it. */
export function describeTrace() {
  say("trace-spread", spread);
  at("trace").setAttribute("aria-label", `Readings of the last 20 seconds: ${spread}`);
}

const micrometres = (mm) => (mm < 0.1 ? `${(1000 * mm).toFixed(0)} µm` : `${mm.toFixed(2)} mm`);
