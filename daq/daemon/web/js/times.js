// Times of day and spans of time, as a person says them.

/** A Date as the clock on the wall has it. */
export const clock = (date) => date.toLocaleTimeString("en-GB");

/** Milliseconds in words: 40 s, 3 min, 2 h. */
export function span(ms) {
  const s = Math.round(ms / 1000);
  if (s < 100) return `${s} s`;
  const min = Math.round(s / 60);
  return min < 100 ? `${min} min` : `${Math.round(min / 60)} h`;
}
