// On a rig made of software: what a person would do to the instrument, as buttons.

import { ask } from "../ask.js";
import { button, element } from "./element.js";
import { setting } from "./words.js";

/** What stands on the rig made of software, and its orders; null on a rig of steel. */
export async function simulatedRig() {
  try {
    return await ask("/v1/simulated");
  } catch (fault) {
    if (fault.status === 404 || fault.status === 0) return null;
    throw fault;
  }
}

/** rig: what `simulatedRig` gave; job: the one that is on the rig. The panel has node. */
export function makeHands(rig, job) {
  const said = element("p", { role: "status" });
  const presses = rig.orders.map(({ words, order }) => button(words, () => give(order)));

  async function give(order) {
    for (const one of presses) one.disabled = true;
    try {
      show(await ask("/v1/simulated", "job" in order ? { ...order, job } : order));
    } catch (fault) {
      if (fault.status === undefined) throw fault;
      said.textContent = fault.message;
      said.classList.add("fault");
    }
    for (const one of presses) one.disabled = false;
  }

  function show(now) {
    said.classList.remove("fault");
    said.textContent = `On the rig: the ${now.on_the_rig}, ${now.state}. The rod stands ` +
      `${setting(now.rod_turns)}. The cable is ${now.cable}.`;
  }

  show(rig);
  return { node: element("details", { class: "hands", open: true },
    element("summary", {}, "Hands"),
    element("p", { class: "soft" }, "This rig is made of software: what you would do beside it " +
      "with your own hands, you order here."), said,
    element("div", { class: "presses" }, ...presses)) };
}
