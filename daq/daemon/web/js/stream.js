// The one event stream of the page. It comes back by itself, and says when it was away.

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
  begin();
}

async function begin() {
  try {
    open(await catchUp());
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
    const told = JSON.parse(event.data);
    for (const fn of hearers.get(kind)) fn(told);
  });
}

function connected() {
  const away = lostAt;
  lostAt = null;
  for (const fn of watchers) fn({ connected: true, lostAt: away, why: "" });
  if (away !== null) for (const fn of backs) fn();
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
