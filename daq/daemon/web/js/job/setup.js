// What is turned before any metal comes off: rod, saddles, nut; free, kept, or set by hand.

import { makeChoice } from "./choice.js";
import { makeControl } from "./control.js";
import { element } from "./element.js";
import { valueAt } from "./paths.js";

const WORDS = [["free", "Free"], ["keep", "Keep as it is"]];
const SCREWS = [["saddles", "saddle", "Saddles", "Saddle"], ["nut", "nut", "Nut", "Nut slot"]];

/** move(path, value, at_ms). The group has node, controls by path, show(asked, tried). */
export function makeSetup({ ranges, strings, move }) {
  const choice = (path, name) => makeChoice(name, WORDS, (word, at_ms) => move(path, word, at_ms));
  const rod = choice("rod", "Truss rod");
  const turns = makeControl({ name: "Turned by, tighter +", unit: "turn", range: ranges.rod,
    move: (value, at_ms) => move("rod", value, at_ms), letGo: (at_ms) => move("rod", "free", at_ms) });
  const controls = new Map([["rod", turns]]);
  const screws = SCREWS.map(([path, stem, name, one]) => {
    const words = choice(path, name);
    const each = Array.from({ length: strings }, (_, n) => `${stem}.${n + 1}`).map((by, n) => {
      const control = makeControl({ name: `${one}, string ${n + 1}, up +`, unit: "mm",
        range: ranges[by], move: (value, at_ms) => move(by, value, at_ms),
        letGo: (at_ms) => move(by, null, at_ms) });
      controls.set(by, control);
      return control.node;
    });
    const fold = element("details", {}, element("summary", {}, "Each string by hand"), ...each);
    return { path, stem, words, node: element("div", { class: "group" },
      element("h3", {}, name), words.node, fold) };
  });

  return {
    node: element("div", {}, element("div", { class: "group" }, element("h3", {}, "Truss rod"),
      rod.node, turns.node), ...screws.map((one) => one.node)),
    controls,
    show(asked, tried) {
      rod.show(asked.rod);
      const planned = tried && signedTurns(tried.rod);
      const own = typeof asked.rod === "number";
      turns.show(own ? asked.rod : planned, own);
      for (const { path, stem, words } of screws) {
        words.show(typeof asked[path] === "string" ? asked[path] : "");
        for (let n = 1; n <= strings; n++) {
          const set = valueAt(asked, `${stem}.${n}`);
          controls.get(`${stem}.${n}`).show(set ?? tried?.[path][n - 1].change_mm, set !== null);
        }
      }
    },
  };
}

const signedTurns = ({ turns, direction }) => (direction === "loosen" ? -turns : turns);
