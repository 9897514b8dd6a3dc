// A field of a form with its name above it and, where it must be said, a fault below it.

import { element, freshId } from "./element.js";

/** The field has node, input, value, refuse(words). given: properties of the input. */
export function makeField(name, given = {}, hint = "") {
  const id = freshId("field");
  const words = element("p", { class: "allowed", id: `${id}-words` }, hint);
  const input = element(given.rows ? "textarea" : "input", { id, autocomplete: "off",
    aria: { describedby: words.id }, ...given });
  input.addEventListener("input", () => refuse(""));

  function refuse(text) {
    words.textContent = text || hint;
    words.classList.toggle("fault", text !== "");
    if (text) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }

  return {
    node: element("div", { class: "field" }, element("label", { htmlFor: id }, name), input, words),
    input,
    get value() { return input.value.trim(); },
    refuse,
  };
}
