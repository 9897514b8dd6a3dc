// One number that is asked for: a slider, a field beside it, a step less and a step more.

import { button, element, freshId } from "./element.js";
import { allowedWords, ends, readNumber, spoken, stepped, tidy } from "./entry.js";

const NOTE_MS = 5000;
const LONG = 4;  // a longer unit stands above, where it says what is allowed

/**
 * given: name, unit (may be ""), range [least, most, step], move(value, at_ms), and `letGo`, where
 * the plan may choose the number itself: called to let it. The control has node, show(value, own),
 * refuse(words), note(words).
 */
export function makeControl({ name, unit, range, move, letGo }) {
  const [least, most] = ends(range);
  const ids = { field: freshId("field"), words: freshId("allowed") };
  const allowed = allowedWords(range, unit);
  const words = element("p", { class: "allowed", id: ids.words }, allowed);
  const slider = element("input", { type: "range", min: least, max: most, step: range[2],
    aria: { label: `${name}, slider`, describedby: ids.words } });
  const field = element("input", { type: "text", id: ids.field, inputMode: "decimal",
    autocomplete: "off", class: "number", aria: { describedby: ids.words } });
  const note = element("span", { class: "noted" });
  const whose = element("span", { class: "whose" });
  const free = letGo && button("Let go", (event) => letGo(event.timeStamp),
    { class: "small", aria: { label: `${name}: let the plan choose` } });
  let value = null;
  let held = false;      // a hand is on the slider
  let typing = false;    // something stands in the field that was not taken yet
  let timer;

  function refuse(text) {
    words.textContent = text;
    words.classList.add("fault");
    field.setAttribute("aria-invalid", "true");
  }

  function accept() {
    words.textContent = allowed;
    words.classList.remove("fault");
    field.removeAttribute("aria-invalid");
  }

  function put(number) {
    if (!held) slider.value = number;
    if (!typing) field.value = spoken(number, range);
    slider.setAttribute("aria-valuetext", `${spoken(number, range)} ${unit}`.trim());
  }

  function ask(number, at_ms) {
    value = tidy(number, range);
    typing = false;
    accept();
    put(value);
    move(value, at_ms);
  }

  function take(at_ms) {
    if (!typing) return;
    const read = readNumber(field.value, range, unit);
    if (read.fault !== undefined) refuse(read.fault);
    else ask(read.value, at_ms);
  }

  slider.addEventListener("pointerdown", () => { held = true; });
  for (const kind of ["pointerup", "pointercancel", "change", "blur"]) {
    slider.addEventListener(kind, () => { held = false; });
  }
  slider.addEventListener("input", (event) => ask(Number(slider.value), event.timeStamp));
  field.addEventListener("input", () => { typing = true; });
  field.addEventListener("change", (event) => take(event.timeStamp));
  field.addEventListener("focus", () => field.select());
  field.addEventListener("keydown", (event) => {
    if (event.key === "Enter") take(event.timeStamp);
    const by = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (by === undefined || typing) return;
    event.preventDefault();
    ask(stepped(value, by, range), event.timeStamp);
  });

  const nudge = (sign, by, what) => button(sign, (event) => {
    ask(stepped(value ?? least, by, range), event.timeStamp);
  }, { class: "step", aria: { label: `${name}: ${what}` } });

  const node = element("div", { class: "control" },
    element("div", { class: "control-head" },
      element("label", { htmlFor: ids.field }, name), whose, note, ...(free ? [free] : []), words),
    element("div", { class: "control-row" },
      nudge("−", -1, "less"), slider, nudge("+", 1, "more"), field,
      element("span", { class: "unit" }, unit.length > LONG ? "" : unit)));

  return {
    node,
    /** own: whether it is asked for; otherwise the plan chose it. */
    show(number, own = true) {
      node.classList.toggle("chosen-by-plan", !own);
      if (free) {
        free.hidden = !own;
        whose.textContent = own ? "" : "by the plan";
      }
      if (number === null || number === undefined) return;
      value = number;
      if (!typing && field.getAttribute("aria-invalid")) accept();
      put(number);
    },
    refuse,
    /** Something to know of it, for a while. */
    note(text) {
      note.textContent = text;
      clearTimeout(timer);
      timer = setTimeout(() => { note.textContent = ""; }, NOTE_MS);
    },
  };
}
