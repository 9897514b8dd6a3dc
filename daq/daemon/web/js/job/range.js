// Which frets of a neck are in sight: a run of them, wider or narrower, to and fro. Pure.

const LEAST = 3;

/** All frets from the nut: from 0, the nut, to the last. */
export const whole = (frets) => ({ from: 0, to: frets });

/** Half as many around a fret, or twice as many. */
export function closer({ from, to }, fret, frets) {
  return around(fret, Math.max(LEAST, Math.round((to - from) / 2)), frets);
}

export function wider({ from, to }, fret, frets) {
  return around(fret, Math.min(frets, 2 * (to - from)), frets);
}

/** As many frets, further up the neck (by > 0) or down, half of what is in sight at once. */
export function along({ from, to }, by, frets) {
  const span = to - from;
  const first = Math.min(frets - span, Math.max(0, from + by * Math.max(1, Math.floor(span / 2))));
  return { from: first, to: first + span };
}

function around(fret, span, frets) {
  const from = Math.min(frets - span, Math.max(0, Math.round(fret - span / 2)));
  return { from, to: from + span };
}

const WAYS = {
  closer: (seen, fret, frets) => closer(seen, fret, frets),
  wider: (seen, fret, frets) => wider(seen, fret, frets),
  down: (seen, fret, frets) => along(seen, -1, frets),
  up: (seen, fret, frets) => along(seen, 1, frets),
  all: (seen, fret, frets) => whole(frets),
};

/** The frets in sight: turn(way, fret) changes them; asked: first and last, null for all. */
export function makeRange(frets) {
  let seen = whole(frets);
  return {
    get asked() {
      return seen.to - seen.from === frets ? null : [Math.max(1, seen.from), seen.to];
    },
    turn(way, fret) { seen = WAYS[way](seen, fret, frets); },
  };
}
