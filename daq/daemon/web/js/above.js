// How far down the window the pictures begin: what is left below that, they fill.

import { at } from "./dom.js";

/** Keeps --above at what stands above the pictures now. */
export function fillBelow() {
  const measured = new ResizeObserver(() => {
    const top = at("pictures").offsetTop;
    if (top > 0) document.documentElement.style.setProperty("--above", `${top}px`);
  });
  const above = [document.querySelector("header"), at("frame"), at("wrong"), at("rig-view")];
  for (const one of above) measured.observe(one);
}
