// Numbers and lists as a person says them: the words of the terminal (daq/text). Pure.

/** A number to so many decimals, "–" where there is none, never minus zero. */
export function fixed(value, digits) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  const text = value.toFixed(digits);
  return Number(text) === 0 ? (0).toFixed(digits) : text.replace("-", "−");
}

/** A change, its sign always there; zero has none. */
export function signed(value, digits) {
  const text = fixed(value, digits);
  return text === "–" || Number(text.replace("−", "-")) <= 0 ? text : `+${text}`;
}

/** String 3 open; String 3 fretted at 5; String 3 bent at 5. */
export function position({ string, fretted, bend }) {
  if (fretted === 0) return `String ${string} open`;
  return `String ${string} ${bend ? "bent" : "fretted"} at ${fretted}`;
}

/** 1 place; 2 places. */
export const counted = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

/** Where the rod stands: 0.25 turn tighter than at first. */
export function setting(turns) {
  if (Math.abs(turns) < 0.005) return "as at first";
  const unit = Math.abs(turns) <= 1 ? "turn" : "turns";
  return `${fixed(Math.abs(turns), 2)} ${unit} ${turns > 0 ? "tighter" : "looser"} than at first`;
}
