// The player's wishes, a control each.

import { makeChoice } from "./choice.js";
import { makeControl } from "./control.js";
import { element } from "./element.js";
import { valueAt } from "./paths.js";

/** Paths, names and units, in the order in which a repairer asks. last: the last string. */
const numbers = (last) => [
  ["action.first_mm", "Highest action, string 1", "mm"],
  ["action.last_mm", `Highest action, string ${last}`, "mm"],
  ["pluck_force_n", "Pluck force", "N"],
  ["pluck_from_saddle_mm", "Plucked, from the saddle", "mm"],
  ["bend_semitones", "Widest bend", "semitones"],
  ["least_fret_mm", "Least fret height", "mm"],
  ["guard", "Guard", "standard uncertainties"],
];

/** move(path, value, at_ms). The group has node, controls by path, show(asked). */
export function makePlayer({ players, ranges, strings, move }) {
  const named = players.map((name) => [name, name[0].toUpperCase() + name.slice(1)]);
  const who = makeChoice("Player", named, (name, at_ms) => move("player", name, at_ms));
  const controls = new Map(numbers(strings).map(([path, name, unit]) => [path, makeControl({
    name, unit, range: ranges[path], move: (value, at_ms) => move(path, value, at_ms) })]));
  return {
    node: element("div", {}, who.node, ...[...controls.values()].map((one) => one.node)),
    controls,
    show(asked) {
      who.show(asked.playing.name);
      for (const [path, one] of controls) one.show(valueAt(asked, path));
    },
  };
}
