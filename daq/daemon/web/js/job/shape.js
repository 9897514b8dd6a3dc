// The asked-for shape: no top between two anchor frets may stand above it.

import { button, element } from "./element.js";
import { makeControl } from "./control.js";
import { valueAt } from "./paths.js";

const NUMBERS = [
  ["shape.from", "First anchor", "fret"],
  ["shape.from_off_um", "Off that top, up +", "µm"],
  ["shape.to", "Last anchor", "fret"],
  ["shape.to_off_um", "Off that top, up +", "µm"],
  ["shape.hollow_um", "Hollow between", "µm"],
];
const WHAT = "No top between the two anchors may stand above the shape: straight from anchor to " +
  "anchor, hollow between them by as much as you ask. Off its top: as it was measured.";

/** move(path, value, at_ms); joint: the body-joint fret. The group has node, controls, show(asked). */
export function makeShape({ ranges, joint, move }) {
  const straight = { frets: [1, joint], off_mm: [0, 0], hollow_mm: 0 };
  let asks = false;
  const turn = button("", (event) => move("shape", asks ? null : straight, event.timeStamp),
    { aria: { pressed: "false" } });
  const controls = new Map(NUMBERS.map(([path, name, unit]) => [path, makeControl({
    name, unit, range: ranges[path], move: (value, at_ms) => move(path, value, at_ms) })]));
  const numbers = element("div", {}, ...[...controls.values()].map((one) => one.node));
  return {
    node: element("div", {}, element("p", {}, WHAT), turn, numbers),
    controls,
    show(asked) {
      asks = valueAt(asked, "shape") !== null;
      turn.textContent = asks ? "Ask for no shape" : "Ask for a shape";
      turn.setAttribute("aria-pressed", String(asks));
      numbers.hidden = !asks;
      if (asks) for (const [path, one] of controls) one.show(valueAt(asked, path));
    },
  };
}
