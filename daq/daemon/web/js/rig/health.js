// The rig's health: what is wrong is said at once, the rest stands there to be read.

import { ask } from "../ask.js";
import { at, made, say } from "../dom.js";
import { ageWords, healthRows, toDo, wrongNow } from "./healthwords.js";

let own = [];  // rows that the page itself knows

/** Reads it and shows it. Nothing where the daemon is away: that is said elsewhere. */
export async function showHealth() {
  let health;
  try {
    health = await ask("/v1/health");
  } catch {
    return;
  }
  showWrong(wrongNow(health), toDo(health));
  for (const kind of ["rail", "lag"]) {
    say(`${kind}-age`, ageWords(health.calibrations.find((one) => one.kind === kind)));
  }
  const list = document.createDocumentFragment();
  for (const [what, words, bad] of [...healthRows(health), ...own]) {
    list.append(made("dt", what), made("dd", bad ? `▲ ${words}` : words, bad ? "bad" : ""));
  }
  at("health").replaceChildren(list);
}

/** How late and how often the page draws, to stand with the rest. */
export function showLateness(found) {
  if (found === null || found.middle_ms < 0 || found.middle_ms > 10000) return;  // another clock
  own = [["This page", `drawn ${found.per_s.toFixed(0)} times a second, ` +
    `${found.middle_ms.toFixed(0)} ms after it was measured, ${found.most_ms.toFixed(0)} ms at most`]];
}

function showWrong(faults, advice) {
  const list = at("wrong-list");
  const now = [...faults, ...advice].join("\n");
  if ([...list.children].map((one) => one.textContent).join("\n") === now) return;  // said already
  list.replaceChildren(
    ...faults.map((line) => made("li", line)), ...advice.map((line) => made("li", line, "do")));
  at("wrong").hidden = faults.length === 0;
}
