// The keys, listed where "?" is pressed.

import { button, element } from "./element.js";

const KEYS = [
  ["?", "this list"],
  ["Tab", "to the next thing that can be used"],
  ["Ctrl Z, Ctrl Shift Z", "take the last move back, do it again"],
  ["On the board: arrows", "choose a fret and a string"],
  ["H, F, S", "hold back the chosen place, its fret, its string; or let it go"],
  ["On the string: up, down", "the string above or below"],
  ["+, −, 0", "fewer frets, larger; more; all of them"],
  ["left, right", "along the neck"],
  ["C", "from close by, or whole"],
  ["On a slider or a number: arrows", "a step more or less"],
  ["Enter", "take the number that was typed"],
];

/** The list has node, open(). */
export function makeKeysList() {
  const rows = KEYS.flatMap(([keys, what]) => [element("dt", {}, keys), element("dd", {}, what)]);
  const node = element("dialog", { class: "keys", aria: { label: "Keys" } },
    element("h2", {}, "Keys"), element("dl", {}, ...rows), button("Close", () => node.close()));
  return { node, open: () => { if (!node.open) node.showModal(); } };
}
