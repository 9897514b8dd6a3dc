// What the live pictures are made of: a rule with marks, a band of readings, pads, hairs.

import { multiples } from "./scale.js";
import { colour } from "./sheet.js";

const FONT = "15px system-ui, sans-serif";
/** Room for the heights on the left and for the rule below. */
export const LEFT = 58;
export const RULE = 30;
const HALF_LINE = 1;
const LEAST_STEP = 24;  // CSS pixels

/** Where a picture's readings go: {left, right, top, bottom} of a sheet, in CSS pixels. */
export function frame(sheet) {
  return { left: LEFT, right: sheet.wide - 1, top: 10, bottom: sheet.high - RULE };
}

/** How many steps of heights a picture has room for, each with its number. */
export const mostHeights = (box) => Math.max(1, Math.floor((box.bottom - box.top) / LEAST_STEP));

/** A number's place between two ends. */
export const between = (from, to, start, end) => (value) =>
  start + ((value - from) / (to - from)) * (end - start);

/** The ground, and lines at the heights of an axis with their numbers. */
export function heights(pen, box, axis, y) {
  pen.font = FONT;
  pen.textAlign = "right";
  pen.textBaseline = "middle";
  pen.lineWidth = 1;
  pen.strokeStyle = colour("line");
  pen.fillStyle = colour("soft");
  pen.beginPath();
  for (const value of multiples(axis.from, axis.to, axis.step)) {
    const at = Math.round(y(value)) + 0.5;
    pen.moveTo(box.left, at);
    pen.lineTo(box.right, at);
    pen.fillText(value.toFixed(axis.digits), box.left - 8, at);
  }
  pen.stroke();
}

/** The lower edge as a steel rule: a long mark with its number each `long`, a short each `short`. */
export function rule(pen, box, [from, to], x, { long, short, words }) {
  pen.font = FONT;
  pen.textAlign = "center";
  pen.textBaseline = "top";
  pen.strokeStyle = colour("soft");
  pen.fillStyle = colour("soft");
  pen.lineWidth = 1;
  pen.beginPath();
  pen.moveTo(box.left, box.bottom + 0.5);
  pen.lineTo(box.right, box.bottom + 0.5);
  for (const value of multiples(from, to, short)) mark(pen, x(value), box.bottom, 5);
  for (const value of multiples(from, to, long)) {
    mark(pen, x(value), box.bottom, 10);
    const half = pen.measureText(words(value)).width / 2;
    pen.fillText(words(value), Math.min(x(value), box.right - half), box.bottom + 13);
  }
  pen.stroke();
}

function mark(pen, at, from, long) {
  pen.moveTo(Math.round(at) + 0.5, from);
  pen.lineTo(Math.round(at) + 0.5, from + long);
}

/** Readings from least to greatest, as a band that is never thinner than a line.
 * reach: the widest hole, in columns, that is drawn over. Filled, for a stroke of a thousand
 * points takes ten times as long. */
export function band(pen, columns, left, y, reach) {
  pen.fillStyle = colour("strung");
  pen.beginPath();
  for (const { first, low, high } of columns.runs(reach)) {
    const top = thickened(high.map(y), Math.min).map((at) => at - HALF_LINE);
    const bottom = thickened(low.map(y), Math.max).map((at) => at + HALF_LINE);
    const start = left + first + 0.5;
    pen.moveTo(start - HALF_LINE, top[0]);
    top.forEach((at, n) => pen.lineTo(start + n, at));
    pen.lineTo(start + top.length - 1 + HALF_LINE, top[top.length - 1]);
    pen.lineTo(start + top.length - 1 + HALF_LINE, bottom[bottom.length - 1]);
    for (let n = bottom.length - 1; n >= 0; n--) pen.lineTo(start + n, bottom[n]);
    pen.lineTo(start - HALF_LINE, bottom[0]);
    pen.closePath();
  }
  pen.fill();
}

/** Each edge reaches as far as its neighbours', so that a steep slope is as thick as a flat. */
function thickened(edge, furthest) {
  return edge.map((at, n) => furthest(edge[n - 1] ?? at, at, edge[n + 1] ?? at));
}

/** The pads of the rail, hatched: their place and their pattern say what they are. */
export function pads(pen, box, places, x) {
  for (const [from, to] of places) {
    const [left, right] = [Math.max(box.left, x(from)), Math.min(box.right, x(to))];
    if (right <= left) continue;
    pen.save();
    pen.beginPath();
    pen.rect(left, box.top, right - left, box.bottom - box.top);
    pen.fillStyle = colour("past");
    pen.fill();
    pen.clip();
    pen.strokeStyle = colour("line");
    pen.lineWidth = 1.5;
    pen.beginPath();
    const high = box.bottom - box.top;
    for (let at = left - high; at < right; at += 9) {
      pen.moveTo(at, box.bottom);
      pen.lineTo(at + high, box.top);
    }
    pen.stroke();
    pen.restore();
  }
}

/** The carriage: a hair through the picture and a block on the rule. */
export function carriage(pen, box, at) {
  if (at < box.left || at > box.right) return;
  pen.fillStyle = colour("unstrung");
  pen.fillRect(Math.round(at) - 1, box.top, 2, box.bottom - box.top);
  pen.fillRect(at - 8, box.bottom - 4, 16, 9);
}

/** Where the finger points: a hair with a ring at the reading, or without one. */
export function finger(pen, box, at, height) {
  pen.strokeStyle = colour("ink");
  pen.lineWidth = 1.5;
  pen.setLineDash([5, 4]);
  pen.beginPath();
  pen.moveTo(at, box.top);
  pen.lineTo(at, box.bottom);
  pen.stroke();
  pen.setLineDash([]);
  if (height === null) return;
  pen.lineWidth = 2.5;
  pen.fillStyle = colour("paper");
  pen.beginPath();
  pen.arc(at, height, 6, 0, 2 * Math.PI);
  pen.fill();
  pen.stroke();
}

/** A word in the middle where there is nothing to draw. */
export function nothing(pen, box, words) {
  pen.font = FONT;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.strokeStyle = colour("paper");
  pen.fillStyle = colour("soft");
  pen.lineWidth = 6;
  const [x, y] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  pen.strokeText(words, x, y);
  pen.fillText(words, x, y);
}
