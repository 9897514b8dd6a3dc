// Groups of controls, one in sight: the tabs above them, by press and by arrow keys.

import { element, freshId } from "./element.js";

/** groups: [name, text, node]. The tabs have node, choose(name), say(name, text). */
export function makeTabs(label, groups) {
  const tabs = new Map();
  const panels = new Map();
  const names = groups.map(([name]) => name);
  for (const [name, text, inside] of groups) {
    const id = freshId("tab");
    const panel = element("div", { role: "tabpanel", id: `${id}-panel`, class: "panel",
      tabIndex: 0, aria: { labelledby: id } }, inside);
    const tab = element("button", { type: "button", role: "tab", id,
      aria: { controls: panel.id }, on: { click: () => choose(name), keydown: walk } }, text);
    tabs.set(name, tab);
    panels.set(name, panel);
  }

  function choose(chosen) {
    for (const name of names) {
      tabs.get(name).setAttribute("aria-selected", String(name === chosen));
      tabs.get(name).tabIndex = name === chosen ? 0 : -1;
      panels.get(name).hidden = name !== chosen;
    }
  }

  function walk(event) {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    const here = names.findIndex((name) => tabs.get(name) === event.target);
    const next = names[(here + by + names.length) % names.length];
    choose(next);
    tabs.get(next).focus();
  }

  choose(names[0]);
  return {
    node: element("div", { class: "controls" },
      element("div", { role: "tablist", class: "tabs", aria: { label } }, ...tabs.values()),
      ...panels.values()),
    choose(name) {
      choose(name);
      tabs.get(name).focus();
      tabs.get(name).scrollIntoView({ block: "nearest" });
    },
    /** Another text on a tab, to say that something waits behind it. */
    say(name, text) { if (tabs.get(name).textContent !== text) tabs.get(name).textContent = text; },
  };
}
