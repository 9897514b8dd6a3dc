// Where the job stands, as a row of steps: done, next, later; each opens what belongs to it.

import { button, element } from "./element.js";
import { stepsOf } from "./whereabouts.js";

const SIGN = { done: "✓", next: "▸", later: "·" };
const SAID = { done: "done", next: "next", later: "later" };

/** opened(panel): a step was chosen. The row has node, show(job, panel). */
export function makeStepsRow(opened) {
  const list = element("ol", { class: "steps-row" });
  return {
    node: element("nav", { aria: { label: "Steps of the job" } }, list),
    show(job, panel) {
      list.replaceChildren(...stepsOf(job).map((step) => element("li", { class: step.state },
        button("", () => opened(step.panel),
          { aria: step.panel === panel ? { current: "step" } : {} }))));
      stepsOf(job).forEach((step, n) => {
        list.children[n].firstChild.append(
          element("span", { aria: { hidden: "true" } }, SIGN[step.state]), ` ${step.name}`,
          element("span", { class: "hush" }, `, ${SAID[step.state]}`));
      });
    },
  };
}
