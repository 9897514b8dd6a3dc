// Round numbers for an axis.

/** The round step (1, 2 or 5 times a power of ten) that is nearest above a length. */
export function roundStep(length) {
  const power = 10 ** Math.floor(Math.log10(length));
  const part = length / power;
  return power * (part <= 1.0001 ? 1 : part <= 2.0001 ? 2 : part <= 5.0001 ? 5 : 10);
}

/**
 * An axis that holds low to high, at least `least` long, with up to `most` steps.
 * {from, to, step, digits}: from and to on whole steps.
 */
export function axis(low, high, least, most = 5) {
  const spare = Math.max(0, least - (high - low)) / 2;
  const [bottom, top] = [low - spare, high + spare];
  let step = roundStep((top - bottom) / most);
  let found = onSteps(bottom, top, step);
  while (Math.round((found.to - found.from) / step) > most) {
    step = roundStep(step * 1.01);
    found = onSteps(bottom, top, step);
  }
  return { ...found, step, digits: Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) };
}

function onSteps(low, high, step) {
  const from = Math.floor(low / step + 1e-9) * step;
  return { from, to: Math.max(Math.ceil(high / step - 1e-9) * step, from + step) };
}

/** The multiples of a step from one number to another, both of them where they are multiples. */
export function multiples(from, to, step) {
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, n) => (first + n) * step);
}

/** The marks of a rule: {long, short}, with up to `most` numbers over a length in mm. */
export function ruleMarks(length, most) {
  const long = Math.max(1, roundStep(length / Math.max(most, 1)));
  const second = Math.round(long / 10 ** Math.floor(Math.log10(long) + 1e-9)) === 2;
  return { long, short: long / (second ? 4 : 5) };
}
