// Whether the daemon is there and of the version that this page came from.

import { ask, watchLate } from "./ask.js";
import { at, say } from "./dom.js";
import { showState } from "./rigstate.js";
import { watchConnection } from "./stream.js";
import { clock, span } from "./times.js";
import { forget, tell } from "./told.js";

let program = null;

/** Says on the page when the daemon is away, and when it is back. */
export function showConnection() {
  watchConnection((now) => {
    document.body.classList.toggle("away", !now.connected);
    at("away").hidden = now.connected;
    if (now.connected && now.lostAt !== null) back(now.lostAt);
    if (now.connected) return;
    showState("away");
    say("away-text", awayWords(now.lostAt, now.why));
  });
  watchLate((isLate) => { at("slow").hidden = !isLate; });
  at("reload").addEventListener("click", () => location.reload());
}

/** The daemon's program as it is told now; the first one is that which this page is of. */
export function checkProgram(now) {
  program ??= now;
  at("version").hidden = now === program;
  if (now !== program) {
    say("version-text", `This page is of ${program}, and the daemon is ${now} now.`);
  }
}

async function back(lostAt) {
  const away = Date.now() - lostAt.getTime();
  forget("away");
  const { up_s: up } = await ask("/v1/health").catch(() => ({ up_s: Infinity }));
  tell(backWords(lostAt, away, up * 1000), { about: "away" });
}

/** why: a fault's message, or nothing where the daemon closed the stream without a word. */
export function awayWords(lostAt, why) {
  const said = why || "the daemon ended the connection; this page comes back by itself";
  const sentence = said[0].toUpperCase() + said.slice(1) + (said.endsWith(".") ? "" : ".");
  return `Not connected since ${clock(lostAt)}. ${sentence}`;
}

/** up_ms: for how long the daemon has run. */
export function backWords(lostAt, away_ms, up_ms) {
  const again = up_ms < away_ms ? " The daemon was started again." : "";
  return `Not connected from ${clock(lostAt)} for ${span(away_ms)}.${again}`;
}
