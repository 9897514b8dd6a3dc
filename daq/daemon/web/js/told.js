// What happened, a line each, until it was seen: read out once, politely.

import { at, made } from "./dom.js";

const MOST = 3;
const lines = new Map();  // about -> element

/** Tells a line. about: what it is about; a newer line about the same takes its place. */
export function tell(text, { about = text, bad = false } = {}) {
  forget(about);
  const line = made("div", "", bad ? "happened bad" : "happened");
  const seen = made("button", "Seen");
  seen.type = "button";
  seen.addEventListener("click", () => forget(about));
  line.append(made("p", text), seen);
  lines.set(about, line);
  at("told").prepend(line);
  if (lines.size > MOST) forget(lines.keys().next().value);
}

/** Takes the line about something away. */
export function forget(about) {
  lines.get(about)?.remove();
  lines.delete(about);
}
