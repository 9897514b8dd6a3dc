// Looking closer at a few frets of a drawn string: the drawing is made wider than its frame, and
// what is in sight of it moves along. Pure.

import { along, closer, whole, wider } from "./range.js";

const WAYS = {
  whole: (_, __, frets) => whole(frets),
  closer: (seen, fret, frets) => closer(seen, fret, frets),
  wider: (seen, fret, frets) => wider(seen, fret, frets),
  down: (seen, _, frets) => along(seen, -1, frets),
  up: (seen, _, frets) => along(seen, 1, frets),
};

/** How far along the scale a fret stands, as a share of the last one's. */
const place = (fret, frets) => (1 - 2 ** (-fret / 12)) / (1 - 2 ** (-frets / 12));

/**
 * The frets in sight: turn(way, fret) changes them; times: how much wider than its frame the
 * drawing is; share: of its width, what lies left of the frame.
 */
export function makeNear(frets) {
  let seen = whole(frets);
  return {
    get seen() { return seen; },
    get whole() { return seen.to - seen.from === frets; },
    get times() { return 1 / (place(seen.to, frets) - place(seen.from, frets)); },
    get share() { return place(seen.from, frets); },
    turn(way, fret) { seen = WAYS[way](seen, fret, frets); },
  };
}
