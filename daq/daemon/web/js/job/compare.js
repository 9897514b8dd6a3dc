// Two states side by side, a string at a time: strung and unstrung, or before and after filing.

import { element } from "./element.js";
import { makeChoice } from "./choice.js";
import { makeFindings } from "./findings.js";

const TITLES = { states: "Strung and unstrung", filed: "Before and after filing" };

/** what: "states" or "filed"; base: the job's address. */
export function makeCompare({ base, what, strings }) {
  const found = makeFindings();
  const numbers = Array.from({ length: strings }, (_, n) => [n + 1, String(n + 1), `String ${n + 1}`]);
  const which = makeChoice("String", numbers, look);

  function look(string) {
    which.show(string);
    found.read(`${base}/compare?what=${what}&string=${string}`);
  }

  look(1);
  return { node: element("section", { class: "compare" }, element("h2", {}, TITLES[what]),
    element("div", { class: "tools" }, element("span", { class: "tool-name" }, "String"), which.node),
    found.node) };
}
