// At a rig made of software: what a person's hands would do beside it, in reach of the rig's view.

import { at } from "../dom.js";

/** simulated: whether the rig is one. What belongs to a job stands with the job. */
export async function showHands(simulated) {
  at("rig-hands").hidden = !simulated;
  if (!simulated) return;
  const { makeHands, simulatedRig } = await import("../job/hands.js");
  const rig = await simulatedRig();
  if (rig === null) return;
  const orders = rig.orders.filter(({ order }) => !("job" in order));
  const { node } = makeHands({ ...rig, orders }, "");
  node.open = false;
  at("rig-hands").replaceChildren(node);
}
