// A number typed into a field: what it means, or in words what is allowed there. Pure.

const NUMBER = /^[+\-−]?(\d+([.,]\d*)?|[.,]\d+)$/;

/** range: [least, most, step]. {value}, or {fault} in words. An empty field is no number. */
export function readNumber(text, range, unit) {
  const typed = text.trim();
  const allowed = allowedWords(range, unit);
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
export function stepped(value, by, range) {
  const steps = value / range[2];
  const next = by > 0 ? Math.floor(steps + 1e-6) + 1 : Math.ceil(steps - 1e-6) - 1;
  const [least, most] = ends(range);
  return tidy(Math.min(most, Math.max(least, next * range[2])), range);
}

/** The least and the most of a range that are whole steps: where a slider ends. */
export function ends([least, most, step]) {
  return [Math.ceil(least / step - 1e-6) * step, Math.floor(most / step + 1e-6) * step];
}

/** A number with as many decimals as the steps of its range have. */
export function spoken(value, [, , step]) {
  const text = value.toFixed(decimals(step));
  return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−");
}

/** A number as it is asked for: without what floating point adds. */
export function tidy(value, [, , step]) {
  return Number(value.toFixed(decimals(step)));
}

/** What is allowed, in words: 0.05 to 2.00 N. */
export function allowedWords(range, unit) {
  const [least, most] = ends(range).map((end) => spoken(end, range));
  return `${least} to ${most}${unit && ` ${unit}`}`;
}

const decimals = (step) => (String(step).split(".")[1] ?? "").length;

const short = (text) => (text.length > 12 ? `${text.slice(0, 12)}…` : text);
