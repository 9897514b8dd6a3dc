// Numbers and lists as a person says them: the words of the terminal (daq/text). Pure.

const EIGHTHS = ["", "an eighth of a turn", "a quarter turn", "three eighths of a turn",
  "half a turn", "five eighths of a turn", "three quarters of a turn", "seven eighths of a turn"];
const OVER = ["", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];

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

/** A turn to the nearest eighth, either way: a quarter turn. */
export function turnWords(turns) {
  const eighths = Math.round(8 * Math.abs(turns));
  if (eighths === 0) return "less than an eighth of a turn";
  if (eighths < 8) return EIGHTHS[eighths];
  const whole = Math.floor(eighths / 8);
  if (eighths % 8) return `${whole} ${OVER[eighths % 8]} turns`;
  return whole === 1 ? "one turn" : `${whole} turns`;
}

/** String 3 open; String 3 fretted at 5; String 3 bent at 5. */
export function position({ string, fretted, bend }) {
  if (fretted === 0) return `String ${string} open`;
  return `String ${string} ${bend ? "bent" : "fretted"} at ${fretted}`;
}

/** 1 place; 2 places. */
export const counted = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

/** 1, 2 and 5 to 7: three or more in a row become a run. */
export function runs(numbers) {
  const groups = [];
  for (const number of [...new Set(numbers)].sort((a, b) => a - b)) {
    const last = groups.at(-1);
    if (last !== undefined && number === last.at(-1) + 1) last.push(number);
    else groups.push([number]);
  }
  return listed(groups.flatMap((group) => (
    group.length > 2 ? [`${group[0]} to ${group.at(-1)}`] : group.map(String))));
}

/** a, b and c. */
export function listed(items) {
  if (items.length < 2) return items.join("");
  return `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`;
}

/** Where the rod stands: 0.25 turn tighter than at first. */
export function setting(turns) {
  if (Math.abs(turns) < 0.005) return "as at first";
  const unit = Math.abs(turns) <= 1 ? "turn" : "turns";
  return `${fixed(Math.abs(turns), 2)} ${unit} ${turns > 0 ? "tighter" : "looser"} than at first`;
}
