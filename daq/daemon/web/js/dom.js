// Places of the page by their id.

/** The element with this id. */
export const at = (id) => document.getElementById(id);

/** Puts a text in its place; nothing is touched where it stands there already. */
export function say(id, text) {
  const place = at(id);
  if (place.textContent !== text) place.textContent = text;
}

/** A new element with a text. */
export function made(tag, text = "", kind = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (kind) element.className = kind;
  return element;
}
