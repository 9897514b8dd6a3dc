// At a rig made of software: what a person's hands would do beside it, in reach of the rig's view.

import { at } from "../dom.js";
import { makeHands, simulatedRig } from "../job/hands.js";

/** What belongs to a job stands with the job. */
export async function showHands() {
  const rig = await simulatedRig();
  if (rig === null) return;
  const orders = rig.orders.filter(({ order }) => !("job" in order));
  const { node } = makeHands({ ...rig, orders }, "");
  node.open = false;
  at("rig-hands").replaceChildren(node);
  at("rig-hands").hidden = false;
}
