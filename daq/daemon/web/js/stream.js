// The one event stream of the page. It comes back by itself, and says when it was away.

import { ask, told } from "./ask.js";

const AGAIN_MS = 1000;

const hearers = new Map();  // kind -> functions
const backs = [];
const watchers = [];
let source = null;
let lostAt = null;
let before = false;  // it was connected before
let cut = false;

/** fn gets what every event of this kind has to tell. */
export function hear(kind, fn) {
  if (!hearers.has(kind)) {
    hearers.set(kind, []);
    if (source !== null) attach(kind);
  }
  hearers.get(kind).push(fn);
}

/** fn is called when the daemon is there again after it was away, so that views read anew. */
export function whenBack(fn) {
  backs.push(fn);
}

/** fn gets {connected, lostAt, why} whenever the connection comes or goes. lostAt: a Date. */
export function watchConnection(fn) {
  watchers.push(fn);
}

/**
 * Connects, for as long as the page is open. catchUp: reads how things are, before the stream is
 * opened; it gives the number of the event from which the stream is to tell.
 */
export async function listen(catchUp) {
  try {
    const after = await catchUp();
    open(after, catchUp);
  } catch (fault) {
    lose(fault.message, catchUp);
  }
}

function open(after, catchUp) {
  source = new EventSource(`/v1/events?after=${after}`);
  for (const kind of hearers.keys()) attach(kind);
  source.addEventListener("open", connected);
  source.addEventListener("cut_off", () => { cut = true; });
  source.addEventListener("error", async () => {
    drop();
    lose(cut ? "This page was too slow to follow and was cut off." : await whyNot(), catchUp);
    cut = false;
  });
}

function attach(kind) {
  source.addEventListener(kind, (event) => {
    const told = JSON.parse(event.data);
    for (const fn of hearers.get(kind)) fn(told);
  });
}

function drop() {
  source?.close();
  source = null;
}

function connected() {
  const away = lostAt;
  lostAt = null;
  for (const fn of watchers) fn({ connected: true, lostAt: away, why: "" });
  if (before) for (const fn of backs) fn();
  before = true;
}

function lose(why, catchUp) {
  lostAt ??= new Date();
  for (const fn of watchers) fn({ connected: false, lostAt, why });
  setTimeout(() => listen(catchUp), AGAIN_MS);
}

/** A stream that is refused does not say why: the same question asked plainly does. */
async function whyNot() {
  const stop = new AbortController();
  try {
    const answer = await fetch("/v1/events?live=false", { signal: stop.signal });
    if (!answer.ok) await told(answer);
    return "";
  } catch (fault) {
    return fault.kind === undefined || fault.kind === "Away" ? (await reason()) : fault.message;
  } finally {
    stop.abort();
  }
}

async function reason() {
  try {
    await ask("/v1/state");
    return "";
  } catch (fault) {
    return fault.message;
  }
}
