// One string from the side: which one, where it is held, and how near one looks.

import { button, element } from "./element.js";
import { makeChoice } from "./choice.js";
import { makePicture } from "./picture.js";

const LOOKS = [["whole", "Whole", "Look at the whole string"], ["closer", "+", "Look closer"],
  ["wider", "−", "See more of it"], ["down", "◂", "Towards the nut"], ["up", "▸", "Towards the body"]];
const KEYS = { "+": "closer", "=": "closer", "-": "wider", "0": "whole", ArrowLeft: "down",
  ArrowRight: "up" };

/**
 * near: which frets are in sight. told: string(n, at_ms), held(word, at_ms): "least" where there is
 * least room, "open" or "fret", the chosen one; fret(): that one.
 */
export function makeSection({ strings, near, told }) {
  const numbers = Array.from({ length: strings }, (_, n) => [n + 1, String(n + 1), `String ${n + 1}`]);
  const which = makeChoice("String", numbers, told.string);
  const held = makeChoice("Held", [["least", "Least room"], ["open", "Open"], ["fret", ""]], told.held);
  const looks = element("div", { class: "choice near", role: "group", aria: { label: "How near" } },
    ...LOOKS.map(([way, text, label]) => button(text, () => turn(way), { aria: { label } })));
  const frame = makePicture();
  frame.holder.tabIndex = 0;
  frame.holder.setAttribute("role", "group");
  frame.holder.setAttribute("aria-label", "One string from the side: up and down choose a " +
    "string, plus and minus look closer or wider, left and right move along");
  frame.holder.addEventListener("keydown", (event) => {
    const way = KEYS[event.key];
    const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey || (!way && !by)) return;
    event.preventDefault();
    if (way) turn(way);
    else told.string(string + by, event.timeStamp);
  });
  let string = 1;

  function turn(way) {
    near.turn(way, told.fret());
    place();
  }

  /** So wide that the frets in sight fill the frame, and scrolled to them. */
  function place() {
    const svg = frame.svg;
    if (svg === null) return;
    frame.holder.classList.toggle("near", !near.whole);
    svg.style.width = near.whole ? "" : `${100 * near.times}%`;
    frame.holder.scrollLeft = near.share * svg.getBoundingClientRect().width;
  }

  return {
    node: element("section", { class: "section", aria: { label: "One string from the side" } },
      element("div", { class: "tools" }, element("span", { class: "tool-name" }, "String"),
        which.node, held.node, looks), frame.node),
    /** show: {string, fretted}; fret: the chosen one, which "fret" means. */
    show(picture, show, fret) {
      string = show.string;
      which.show(string);
      held.button("fret").textContent = `At fret ${fret}`;
      held.show(show.fretted === null ? "least" : show.fretted === 0 ? "open" : "fret");
      if (frame.show(picture)) place();
    },
  };
}
