// Whether the daemon is there and of the version that this page came from.

import { ask } from "./ask.js";
import { at, say } from "./dom.js";
import { watchConnection } from "./stream.js";
import { clock, span } from "./times.js";
import { forget, tell } from "./told.js";

let program = null;

/** Says on the page when the daemon is away, and when it is back. */
export function showConnection() {
  watchConnection((now) => {
    document.body.classList.toggle("away", !now.connected);
    at("away").hidden = now.connected;
    if (!now.connected) say("away-text", `Away since ${clock(now.lostAt)}. ${now.why}`.trim());
    else if (now.lostAt !== null) back(now.lostAt);
  });
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

/** up_ms: for how long the daemon has run. */
export function backWords(lostAt, away_ms, up_ms) {
  const again = up_ms < away_ms ? " It was started again." : "";
  return `The daemon was away from ${clock(lostAt)} for ${span(away_ms)}.${again}`;
}
