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
  let sent = {};

  async function fly() {
    flying = true;
    while (waiting !== null && !away) {
      const what = first(waiting);
      waiting = rest(waiting);
      sent = what.change;
      try {
        const answer = await post(request(what));
        sent = {};
        heard.answered(answer, what);
      } catch (fault) {
        sent = {};
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
    /** change: {path: value}; show: what is drawn; at_ms: when the hand moved. */
    move: (change, show, at_ms) => give({ change, show, at_ms }),
    /** Everything that is asked, at once. */
    all: (asked, show, at_ms) => give({ all: asked, change: {}, show, at_ms }),
    /** Nobody answered, and somebody does again: what waits is sent. */
    again() {
      away = false;
      return waiting !== null && !flying ? fly() : undefined;
    },
    /** What was moved and is not yet answered, by path. */
    get unanswered() { return merged(sent, waiting?.change ?? {}); },
    get busy() { return flying || waiting !== null; },
  };
}

/** Two askings as one: the later shows, and moves on top of what the earlier asked. */
function joined(earlier, later) {
  const at_ms = earlier.at_ms ?? later.at_ms;
  if (later.all !== undefined) return { ...later, at_ms };
  const all = earlier.all === undefined ? {} : { all: earlier.all };
  return { ...all, change: merged(earlier.change, later.change), show: later.show, at_ms };
}

/** All and moves on top of it go one after the other. */
function first(what) {
  return what.all === undefined ? what : { ...what, change: {} };
}

function rest({ all, change, show, at_ms }) {
  return all === undefined || Object.keys(change).length === 0 ? null : { change, show, at_ms };
}

/** As the daemon takes it: either all or a change. */
function request({ all, change, show }) {
  return all === undefined ? { change, show } : { all, show };
}
