// Elements made in one line. Text is always text, never markup.

/** A new element. given: properties, `class`, `data` and `aria` (an object each), `on` (hearers). */
export function element(tag, given = {}, ...children) {
  const { class: classes, data = {}, aria = {}, on = {}, ...rest } = given;
  const made = document.createElement(tag);
  if (classes !== undefined) made.className = classes;
  Object.assign(made.dataset, data);
  for (const [name, value] of Object.entries(aria)) made.setAttribute(`aria-${name}`, value);
  for (const [kind, hear] of Object.entries(on)) made.addEventListener(kind, hear);
  for (const [name, value] of Object.entries(rest)) {
    if (name in made) made[name] = value;
    else made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}

/** A button that says what it does. */
export function button(text, press, given = {}) {
  return element("button", { type: "button", ...given, on: { click: press } }, text);
}

let made = 0;

/** A name for an element that no other on the page has. */
export const freshId = (what) => `${what}-${++made}`;
