// What the daemon says of something, in sentences and pictures, read when it is wanted.

import { ask } from "../ask.js";
import { element } from "./element.js";
import { pictureList } from "./picture.js";

/** A place for it: node, read(path). Of two readings only the later is shown. */
export function makeFindings() {
  const node = element("div", { class: "findings" });
  let last = "";
  return {
    node,
    async read(path) {
      last = path;
      node.setAttribute("aria-busy", "true");
      const parts = await readParts(path);
      if (last !== path) return;
      node.removeAttribute("aria-busy");
      node.replaceChildren(...parts);
    },
  };
}

async function readParts(path) {
  try {
    const { sentences, cautions = [], pictures } = await ask(path);
    const words = element("div", { class: "found-words" }, ...lines(sentences),
      ...lines(cautions, "caution"));
    return [words, pictureList(pictures)];
  } catch (fault) {
    if (fault.status === undefined) throw fault;
    return [element("p", { class: "fault" }, fault.message)];
  }
}

const lines = (texts, kind = "") => texts.map((text) => element("p", { class: kind }, text));
