// One string from the side: which one, where it is held, and how near one looks.

import { button, element } from "./element.js";
import { makeChoice } from "./choice.js";
import { makePicture } from "./picture.js";

const LOOKS = [["closer", "+", "Fewer frets, larger"], ["wider", "−", "More frets, smaller"],
  ["down", "◂", "Towards the nut"], ["up", "▸", "Towards the body"]];
const KEYS = { "+": "closer", "=": "closer", "-": "wider", "0": "all", ArrowLeft: "down",
  ArrowRight: "up" };
const LABEL = "One string from the side: up and down choose a string, plus and minus show fewer " +
  "frets or more, left and right move along, C looks from close by";

/**
 * told: string(n, at_ms), held(word, at_ms): "least" where there is least room, "open" or "fret",
 * the chosen one; near(yes, at_ms): from close by; turn(way, at_ms): "closer", "wider", "down",
 * "up" or "all" frets.
 */
export function makeSection({ strings, told }) {
  const numbers = Array.from({ length: strings }, (_, n) => [n + 1, String(n + 1), `String ${n + 1}`]);
  const which = makeChoice("String", numbers, told.string);
  const held = makeChoice("Held", [["least", "Tightest"], ["open", "Open"], ["fret", ""]], told.held);
  const near = button("Close by", (event) => told.near(!show.near, event.timeStamp),
    { aria: { pressed: "false", keyshortcuts: "c" } });
  const looks = element("span", { class: "choice", role: "group", aria: { label: "Which frets" } },
    ...LOOKS.map(([way, text, label]) => button(text, (event) => told.turn(way, event.timeStamp),
      { aria: { label } })));
  const frame = makePicture();
  let show = null;

  frame.holder.tabIndex = 0;
  frame.holder.setAttribute("role", "group");
  frame.holder.setAttribute("aria-label", LABEL);
  frame.holder.addEventListener("keydown", (event) => {
    const way = KEYS[event.key];
    const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    const close = event.key.toLowerCase() === "c";
    if (event.ctrlKey || event.metaKey || event.altKey || !(way || by || close)) return;
    event.preventDefault();
    if (way) told.turn(way, event.timeStamp);
    else if (by) told.string(show.string + by, event.timeStamp);
    else told.near(!show.near, event.timeStamp);
  });

  return {
    node: element("section", { class: "section", aria: { label: "One string from the side" } },
      element("div", { class: "tools" }, which.node, held.node, near, looks), frame.node),
    /** now: {string, fretted, near}; fret: the chosen one, which "fret" means. */
    show(picture, now, fret) {
      show = now;
      which.show(show.string);
      held.button("fret").textContent = `Fret ${fret}`;
      held.show(show.fretted === null ? "least" : show.fretted === 0 ? "open" : "fret");
      near.setAttribute("aria-pressed", String(show.near));
      frame.show(picture);
    },
  };
}
