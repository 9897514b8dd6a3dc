// One request in flight, and the latest waits: what is asked meanwhile becomes one request. Pure:
// how it is sent is given.

import { merged } from "./paths.js";

/**
 * A sender. post(what): sends {change | all, show} and gives the answer. heard.answered(answer,
 * what), heard.refused(fault, what): how it went. What nobody answered waits for `again`.
 */
export function makeSender(post, heard) {
  let waiting = null;
  let flying = false;
  let away = false;

  async function fly() {
    flying = true;
    while (waiting !== null && !away) {
      const what = first(waiting);
      waiting = rest(waiting);
      try {
        heard.answered(await post(request(what)), what);
      } catch (fault) {
        if (fault.status === undefined) throw fault;
        if (fault.status === 0) {
          away = true;
          waiting = waiting === null ? what : joined(what, waiting);
        }
        heard.refused(fault, what);
      }
    }
    flying = false;
  }

  function give(what) {
    waiting = waiting === null ? what : joined(waiting, what);
    if (!flying && !away) return fly();
    return undefined;
  }

  return {
    /** change: {path: value}; show: {layer, string, fretted}. */
    move: (change, show) => give({ change, show }),
    /** Everything that is asked, at once. */
    all: (asked, show) => give({ all: asked, change: {}, show }),
    /** Nobody answered, and somebody does again: what waits is sent. */
    again() {
      away = false;
      return waiting !== null && !flying ? fly() : undefined;
    },
    /** What was asked and is not yet answered, by path: not in `all`. */
    get waits() { return waiting?.change ?? {}; },
    get busy() { return flying || waiting !== null; },
  };
}

/** Two askings as one: the later shows, and moves on top of what the earlier asked. */
function joined(earlier, later) {
  if (later.all !== undefined) return later;
  const all = earlier.all === undefined ? {} : { all: earlier.all };
  return { ...all, change: merged(earlier.change, later.change), show: later.show };
}

/** All and moves on top of it go one after the other. */
function first(what) {
  return what.all === undefined ? what : { ...what, change: {} };
}

function rest({ all, change, show }) {
  return all === undefined || Object.keys(change).length === 0 ? null : { change, show };
}

/** As the daemon takes it: either all or a change. */
function request({ all, change, show }) {
  return all === undefined ? { change, show } : { all, show };
}
