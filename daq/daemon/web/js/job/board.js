// The whole board from above: choose what it shows, choose a fret and a string, hold one back.

import { button, element } from "./element.js";
import { makeChoice } from "./choice.js";
import { makePicture } from "./picture.js";

const LAYERS = [["height", "Height"], ["wear", "Wear"], ["cut", "Cut"], ["room", "Room"]];
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const HOLDS = { h: "place", f: "fret", s: "string" };
const CHOSEN = "chosen-place";

/**
 * frets, strings: how many there are. told: layer(name, at_ms), place(fret, string, at_ms),
 * open(string, at_ms), held(path): whether it is held back, hold(path, yes, at_ms).
 */
export function makeBoard({ frets, strings, told }) {
  const layers = makeChoice("The board shows", LAYERS, told.layer);
  const said = element("span", { class: "chosen-words", role: "status" });
  const frame = makePicture(said);
  let at = { fret: 1, string: 1 };

  const paths = () => ({ place: `hold.place.${at.fret}.${at.string}`, fret: `hold.fret.${at.fret}`,
    string: `hold.string.${at.string}` });
  const turn = (what, at_ms) => {
    const path = paths()[what];
    told.hold(path, !told.held(path), at_ms);
    showHolds();
  };
  const holds = Object.fromEntries(Object.entries(HOLDS).map(([key, what]) => [what,
    button("", (event) => turn(what, event.timeStamp),
      { aria: { pressed: "false", keyshortcuts: key } })]));

  function showHolds() {
    const names = { place: "Place", fret: `Fret ${at.fret}`, string: `String ${at.string}` };
    for (const [what, made] of Object.entries(holds)) {
      made.setAttribute("aria-pressed", String(told.held(paths()[what])));
      made.textContent = names[what];
    }
  }

  function mark() {
    frame.holder.querySelector(`#${CHOSEN}`)?.removeAttribute("id");
    frame.holder.querySelector(".cell.chosen")?.classList.remove("chosen");
    const cell = cellAt(at.fret, at.string);
    if (cell === null) return;
    cell.id = CHOSEN;
    cell.classList.add("chosen");
    said.textContent = cell.getAttribute("aria-label") ?? `fret ${at.fret}, string ${at.string}`;
  }

  /** Where the board is wider than its place: as far aside as the chosen cell asks for. */
  function reveal() {
    const { holder } = frame;
    const cell = cellAt(at.fret, at.string)?.getBoundingClientRect();
    const seen = holder.getBoundingClientRect();
    if (!cell) return;
    if (cell.left < seen.left) holder.scrollLeft -= seen.left - cell.left + cell.width;
    else if (cell.right > seen.right) holder.scrollLeft += cell.right - seen.right + cell.width;
  }

  const cellAt = (fret, string) => frame.holder.querySelector(
    `.cell[data-fret="${fret}"][data-string="${string}"]`);

  function choose(fret, string, at_ms) {
    if (fret < 0 || fret > frets || string < 1 || string > strings) return;
    if (fret === 0) {
      told.open(string, at_ms);
      return;
    }
    at = { fret, string };
    mark();
    reveal();
    showHolds();
    told.place(fret, string, at_ms);
  }

  frame.holder.tabIndex = 0;
  frame.holder.setAttribute("role", "group");
  frame.holder.setAttribute("aria-label", "The board from above: arrow keys choose a place");
  frame.holder.setAttribute("aria-activedescendant", CHOSEN);
  frame.holder.addEventListener("click", ({ target, timeStamp }) => {
    const cell = target.closest(".cell");
    if (cell) choose(Number(cell.dataset.fret), Number(cell.dataset.string), timeStamp);
  });
  frame.holder.addEventListener("keydown", (event) => {
    const by = ARROWS[event.key];
    const what = HOLDS[event.key.toLowerCase()];
    if (event.ctrlKey || event.metaKey || event.altKey || (!by && !what)) return;
    event.preventDefault();
    if (by) choose(at.fret + by[0], at.string + by[1], event.timeStamp);
    else turn(what, event.timeStamp);
  });

  return {
    node: element("section", { class: "board", aria: { label: "The board" } },
      element("div", { class: "tools" }, layers.node, element("div", { class: "choice", role: "group",
        aria: { label: "Hold back from cutting" } }, element("span", { class: "tool-name" }, "Hold back"),
      ...Object.values(holds))), frame.node),
    choose,
    /** The map as it was drawn, and which layer that is. */
    show(picture, layer) {
      layers.show(layer);
      if (frame.show(picture)) mark();
      showHolds();
    },
  };
}
