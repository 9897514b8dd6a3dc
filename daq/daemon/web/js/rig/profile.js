// The profile of the pass: the whole rail, and a close look at some of it.

import { ask } from "../ask.js";
import { at, say } from "../dom.js";
import { Bins } from "./bins.js";
import { Look, keyed } from "./look.js";
import { axis, ruleMarks } from "./scale.js";
import { colour, Sheet } from "./sheet.js";
import * as strokes from "./strokes.js";

const LEAST_MM = 0.02;
const HOLE_MM = 2;  // wider, and nothing is drawn across
const NUMBER_WIDE = 48;  // CSS pixels for a number of the rule

let rig = null;  // {travel_mm, pads_mm}
let bins = null;
let early = [];  // strips that came while the whole was asked for; null for a pass that began
let look = null;
let close = null;
let whole = null;
let carriage_mm = null;

/** Sets the pictures up. redraw: called where they are to be drawn anew. */
export function setUpProfile(redraw) {
  close = new Sheet(at("close"), redraw);
  whole = new Sheet(at("whole"), redraw);
  at("follow").addEventListener("click", () => {
    look.follows = !look.follows;
    look.carriageAt(carriage_mm);
    redraw();
  });
  pointed("close", (x_mm) => look.pointAt(x_mm), redraw, true);
  pointed("whole", (x_mm) => { look.lookAt(x_mm); look.pointAt(x_mm); }, redraw, false);
  keys("close", (key) => {
    const from = look.finger ?? middle(look.window);
    return keyed(key, from, look.window, bins.bin_mm, 5);
  }, (x_mm) => look.pointAt(x_mm), redraw);
  keys("whole", (key) => keyed(key, middle(look.window), rig.travel_mm, 5, 50),
    (x_mm) => look.lookAt(x_mm), redraw);
  at("close").addEventListener("blur", () => { look?.letGo(); redraw(); });
}

/** Which rig it is, when the page begins or comes back. */
export function setRail(rigNow) {
  rig = rigNow;
  look ??= new Look(rig.travel_mm);
  [look.least, look.most] = rig.travel_mm;
}

/** Reads what the pass has brought so far; the stream tells already what comes after that. */
export async function readProfile() {
  bins = null;
  early = [];
  const whole = await ask("/v1/profile").catch(() => null);
  if (whole === null) return;  // it is away again
  bins = new Bins(whole);
  for (const strip of early) putStrip(strip);
}

/** A live message. */
export function hearProfile({ x_mm: x, profile: strip }) {
  carriage_mm = x;
  look.carriageAt(x);
  if (strip !== null) putStrip(strip);
}

/** A new pass begins. */
export const clearProfile = () => putStrip(null);

function putStrip(strip) {
  if (bins === null) early.push(strip);
  else if (strip === null) bins.clear();
  else bins.put(strip);
}

/** Draws both as they are now. */
export function drawProfile() {
  if (bins === null) return;
  if (whole.clear()) drawOn(whole, rig.travel_mm, 3, true);
  if (close.clear()) drawOn(close, look.window, 5, false);
  const { height, place } = fingerWords();
  say("finger-height", height);
  say("finger-place", place);
  at("follow").setAttribute("aria-pressed", String(look.follows));
}

/** Says in words what the pictures show: at a slow pace. */
export function describeProfile() {
  if (bins === null) return;
  const [from, to] = look.window;
  slider("whole", rig.travel_mm, middle(look.window),
    `close look from ${from.toFixed(0)} to ${to.toFixed(0)} mm; ${spreadWords(rig.travel_mm)}`);
  const { height, place } = fingerWords();
  slider("close", look.window, look.finger ?? middle(look.window),
    look.finger === null ? spreadWords(look.window) : `${height} ${place}`);
}

function drawOn(sheet, window, most, isWhole) {
  const { pen } = sheet;
  const box = strokes.frame(sheet);
  const x = strokes.between(...window, box.left, box.right);
  const wide = Math.round(box.right - box.left);
  strokes.pads(pen, box, rig.pads_mm, x);
  if (isWhole) framed(pen, box, look.window.map(x));
  const marks = ruleMarks(window[1] - window[0], wide / NUMBER_WIDE);
  strokes.rule(pen, box, window, x, { ...marks, words: (mm) => `${mm}` });
  const columns = bins.columns(...window, wide);
  const found = columns.extremes;
  let y = null;
  if (found !== null) {
    const scale = axis(...found, LEAST_MM, Math.min(most, strokes.mostHeights(box)));
    y = strokes.between(scale.from, scale.to, box.bottom, box.top);
    strokes.heights(pen, box, scale, y);
    strokes.band(pen, columns, box.left, y, (HOLE_MM / (window[1] - window[0])) * wide);
  }
  if (carriage_mm !== null) strokes.carriage(pen, box, x(carriage_mm));
  if (found === null) strokes.nothing(pen, box, "nothing read here in this pass");
  if (look.finger !== null) pointer(pen, box, x, y);
}

function framed(pen, box, [left, right]) {
  pen.strokeStyle = colour("ink");
  pen.lineWidth = 2;
  pen.strokeRect(left, box.top - 4, right - left, box.bottom - box.top + 8);
}

function pointer(pen, box, x, y) {
  const there = x(look.finger);
  if (there < box.left || there > box.right) return;
  const read = bins.at(look.finger);
  const height = read === null || y === null ? null : y((read.low + read.high) / 2);
  strokes.finger(pen, box, there, height);
}

function fingerWords() {
  if (look.finger === null) return { height: "", place: "point at the picture to read a height" };
  const place = `at ${look.finger.toFixed(1)} mm`;
  const read = bins.at(look.finger);
  if (read === null) return { height: "–", place: `${place}: nothing read` };
  const height = (read.low + read.high) / 2;
  const lowest = bins.columns(...look.window, 1).extremes;
  const above = lowest === null ? "" : `, ${(height - lowest[0]).toFixed(3)} above the lowest here`;
  return { height: `${height.toFixed(3)} mm`, place: place + above };
}

function spreadWords(window) {
  const found = bins.columns(...window, 1).extremes;
  if (found === null) return "nothing read here in this pass";
  return `readings from ${found[0].toFixed(3)} to ${found[1].toFixed(3)} mm`;
}

const middle = ([from, to]) => (from + to) / 2;

/** The place under a mouse or a finger. hovers: a mouse need not be pressed. */
function pointed(id, point, redraw, hovers) {
  const canvas = at(id);
  const follow = (event) => {
    if (bins === null || (event.type === "pointermove" && !hovers && event.buttons === 0)) return;
    const box = strokes.frame(id === "close" ? close : whole);
    const window = id === "close" ? look.window : rig.travel_mm;
    const there = event.clientX - canvas.getBoundingClientRect().left;
    point(strokes.between(box.left, box.right, ...window)(Math.min(box.right, Math.max(box.left, there))));
    redraw();
  };
  canvas.addEventListener("pointerdown", follow);
  canvas.addEventListener("pointermove", follow);
  canvas.addEventListener("pointerleave", (event) => {
    if (event.pointerType !== "mouse" || look === null) return;
    look.letGo();
    redraw();
  });
}

function keys(id, goes, point, redraw) {
  at(id).addEventListener("keydown", (event) => {
    if (bins === null || event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "Escape") look.letGo();
    const place = goes(event.key);
    if (place === null && event.key !== "Escape") return;
    event.preventDefault();
    if (place !== null) point(place);
    describeProfile();
    redraw();
  });
}

function slider(id, [from, to], now, words) {
  const named = { valuemin: from, valuemax: to, valuenow: now };
  for (const [name, value] of Object.entries(named)) {
    at(id).setAttribute(`aria-${name}`, value.toFixed(1));
  }
  at(id).setAttribute("aria-valuetext", words);
}
