// The rig's name and how it is: in the header, whatever view is shown.

import { at, say } from "./dom.js";

/** Each state's sign and words. */
const STATES = {
  connecting: ["○", "looking for the rig"],
  watching: ["●", "ready"],
  working: ["▶", "at work"],
  gone: ["▲", "not there"],
  ended: ["▲", "the daemon has ended"],
  away: ["▲", "not connected"],
};

/** The sign, the words, and whether that is bad, of a state of the rig. */
export function stateWords(state) {
  const [sign, words] = STATES[state] ?? ["○", state];
  return { sign, words, bad: ["gone", "ended", "away"].includes(state) };
}

/** Shows the rig's name. */
export function showName(name) {
  say("name", name);
  document.title = `${name} – neckform`;
}

/** Shows how it is. */
export function showState(state) {
  const { sign, words, bad } = stateWords(state);
  say("state-sign", sign);
  say("state-words", words);
  at("state").classList.toggle("bad", bad);
}
