// A number typed into a field: what it means, or in words what is allowed there. Pure.

const NUMBER = /^[+\-−]?(\d+([.,]\d*)?|[.,]\d+)$/;

/** range: [least, most, step]. {value}, or {fault} in words. An empty field is no number. */
export function readNumber(text, range, unit) {
  const typed = text.trim();
  const allowed = `${spoken(range[0], range)} to ${spoken(range[1], range)}${unit && ` ${unit}`}`;
  if (typed === "") return { fault: `Nothing stands here. Give a number from ${allowed}.` };
  if (!NUMBER.test(typed)) return { fault: `“${short(typed)}” is no number. Allowed: ${allowed}.` };
  const value = Number(typed.replace(",", ".").replace("−", "-"));
  if (value < range[0] || value > range[1]) {
    return { fault: `${short(typed)} is ${value < range[0] ? "too little" : "too much"}. ` +
      `Allowed: ${allowed}.` };
  }
  return { value };
}

/** The next step of a range from a value, upwards or downwards, never past its ends. */
export function stepped(value, by, [least, most, step]) {
  const steps = (value - least) / step;
  const next = by > 0 ? Math.floor(steps + 1e-6) + 1 : Math.ceil(steps - 1e-6) - 1;
  return tidy(Math.min(most, Math.max(least, least + next * step)), [least, most, step]);
}

/** A number with as many decimals as the steps of its range have. */
export function spoken(value, range) {
  return value.toFixed(decimals(range));
}

/** A number as it is asked for: without what floating point adds. */
export function tidy(value, range) {
  return Number(value.toFixed(decimals(range)));
}

function decimals([least, , step]) {
  const places = (value) => (String(value).split(".")[1] ?? "").length;
  return Math.min(4, Math.max(places(step), places(least)));
}

const short = (text) => (text.length > 12 ? `${text.slice(0, 12)}…` : text);
