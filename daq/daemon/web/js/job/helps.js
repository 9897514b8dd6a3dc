// Why there is no plan, and what would cure it: asked for once the hand rests.

import { element } from "./element.js";
import { shortWords } from "./figures.js";

const lines = (texts) => element("ul", {}, ...texts.map((text) => element("li", {}, text)));

/** ask(): what `why` of the job answers. The group has node, show(tried), rest(). */
export function makeHelps({ ask }) {
  const node = element("div");
  let tried = null;
  let asking = false;

  function atOnce(more) {
    if (tried.feasible) {
      node.replaceChildren(element("p", {}, "Nothing is in the way: this plan meets everything."));
      return;
    }
    const short = shortWords(tried);
    node.replaceChildren(element("h3", {}, "In the way"), lines(short.slice(0, 8)),
      ...(short.length > 8 ? [element("p", {}, `... and ${short.length - 8} more places.`)] : []),
      ...more);
  }

  return {
    node,
    show(now) {
      tried = now;
      atOnce([element("p", { class: "soft" }, "What would cure it is looked for once you rest.")]);
    },
    /** The hand rests: asks, and shows the answer if nothing was moved meanwhile. */
    async rest() {
      if (tried === null || tried.feasible || asking) return;
      const about = tried;
      asking = true;
      atOnce([element("p", { class: "soft" }, "Looking for what would cure it …")]);
      try {
        const { sentences, cures } = await ask();
        if (about === tried) {
          node.replaceChildren(element("h3", {}, "In the way"), lines(sentences),
            element("h3", {}, "What would cure it, each alone"), lines(cures));
        }
      } catch (fault) {
        if (fault.status === undefined) throw fault;
        if (about === tried) atOnce([element("p", { class: "fault" }, fault.message)]);
      } finally {
        asking = false;
      }
      if (about !== tried) await this.rest();
    },
  };
}
