// The one event stream of the page. It comes back by itself, and says when it was away.
// A browser has six connections to a daemon, for all its tabs: a tab that nobody sees lets its
// stream go, and is told what it missed once it is seen again.

import { opened } from "./ask.js";

const AGAIN_MS = 1000;
const CUT_OFF = "This page was too slow to follow and was cut off. It begins again by itself.";

const hearers = new Map();  // kind -> functions
const backs = [];
const watchers = [];
let source = null;
let lostAt = null;
let catchUp = null;
let cut = false;
let rested = false;
let newest = Infinity;  // the number of the last event known here

/** fn gets what every event of this kind has to tell. */
export function hear(kind, fn) {
  if (hearers.has(kind)) {
    hearers.get(kind).push(fn);
    return;
  }
  hearers.set(kind, [fn]);
  if (source !== null) attach(kind);
}

/** fn is called when the daemon is there again after it was away, so that views read anew. */
export function whenBack(fn) {
  backs.push(fn);
}

/** fn is called once, as soon as the daemon is there. */
export function whenConnected(fn) {
  let done = false;
  watchConnection(({ connected: is }) => {
    if (is && !done) fn();
    done ||= is;
  });
}

/** fn gets {connected, lostAt, why} when the connection comes, and while it is away every second.
 * lostAt: a Date, or null where it was never away. */
export function watchConnection(fn) {
  watchers.push(fn);
}

/**
 * Connects, for as long as the page is open. reads: how things are, before the stream is opened;
 * it gives the number of the event from which the stream is to tell.
 */
export function listen(reads) {
  catchUp = reads;
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) rest();
    else if (rested && source === null) begin();
  });
  begin();
}

function rest() {
  if (source === null) return;  // it is on its way, and finds out by itself
  source.close();
  source = null;
  rested = true;
}

async function begin() {
  rested ||= document.hidden;
  if (document.hidden) return;
  try {
    const after = await catchUp();
    newest = rested ? Math.min(after, newest) : after;
    open(newest);
    if (document.hidden) rest();
  } catch (fault) {
    lose(fault);
  }
}

function open(after) {
  source = new EventSource(`/v1/events?after=${after}`);
  for (const kind of hearers.keys()) attach(kind);
  source.addEventListener("open", connected);
  source.addEventListener("cut_off", () => { cut = true; });
  source.addEventListener("error", ended);
}

function attach(kind) {
  source.addEventListener(kind, (event) => {
    if (event.lastEventId) newest = Number(event.lastEventId);
    const told = JSON.parse(event.data);
    for (const fn of hearers.get(kind)) fn(told);
  });
}

function connected() {
  const away = lostAt;
  const anew = rested || away !== null;
  lostAt = null;
  rested = false;
  for (const fn of watchers) fn({ connected: true, lostAt: away, why: "" });
  if (anew) for (const fn of backs) fn();
}

async function ended() {
  source.close();
  source = null;
  const why = cut ? new Error(CUT_OFF) : await refusal();
  cut = false;
  lose(why);
}

/** A stream that is refused does not say why: the same asked plainly does. */
async function refusal() {
  const stop = new AbortController();
  try {
    await opened("/v1/events?live=false", { signal: stop.signal });
    return new Error("");
  } catch (fault) {
    return fault;
  } finally {
    stop.abort();
  }
}

function lose(fault) {
  lostAt ??= new Date();
  for (const fn of watchers) fn({ connected: false, lostAt, why: fault.message });
  setTimeout(begin, AGAIN_MS);
}
