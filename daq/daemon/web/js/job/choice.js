// One of a few: big buttons in a row, one of them pressed.

import { button, element } from "./element.js";

/** options: [value, text, described?]. picked(value, at_ms). The choice has node, show(value). */
export function makeChoice(name, options, picked) {
  const buttons = new Map(options.map(([value, text, label]) => [value, button(
    text, (event) => picked(value, event.timeStamp),
    { aria: { pressed: "false", ...(label ? { label } : {}) } })]));
  const node = element("div", { class: "choice", role: "group", aria: { label: name } },
    ...buttons.values());
  return {
    node,
    button: (value) => buttons.get(value),
    show(value) {
      for (const [one, made] of buttons) made.setAttribute("aria-pressed", String(one === value));
    },
  };
}
