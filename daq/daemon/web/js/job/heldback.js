// What is held back from cutting, as a list that can be let go.

import { button, element } from "./element.js";

/** Every path that is held back, and what a person calls it. Pure. */
export function heldPaths({ frets = [], strings = [], places = [] } = {}) {
  return [
    ...frets.map((n) => [`hold.fret.${n}`, `Fret ${n}`]),
    ...strings.map((n) => [`hold.string.${n}`, `String ${n}`]),
    ...places.map(([f, s]) => [`hold.place.${f}.${s}`, `Fret ${f} under string ${s}`]),
  ];
}

/** move(path, value, at_ms). The group has node, show(asked). */
export function makeHeldBack({ move }) {
  const list = element("ul", { class: "plain" });
  let shown = "";
  return {
    node: element("div", {}, element("p", {}, "Held back: not to be cut, whatever the plan would " +
      "like. Choose a place on the board and hold it, its fret or its string back."), list),
    show(asked) {
      const held = heldPaths(asked.hold);
      if (JSON.stringify(held) === shown) return;
      shown = JSON.stringify(held);
      const rows = held.map(([path, name]) => element("li", {}, element("span", {}, name),
        button("Let go", (event) => move(path, false, event.timeStamp),
          { class: "small", aria: { label: `Let go ${name.toLowerCase()}` } })));
      const none = element("li", {}, "Nothing is held back.");
      list.replaceChildren(...(rows.length > 0 ? rows : [none]));
    },
  };
}
