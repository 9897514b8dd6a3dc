// A picture as the daemon draws it, put in place of the one before: no flicker, nothing jumps.

import { element } from "./element.js";

/**
 * beside: what stands on the title's line. The frame has node, holder, svg (null before the
 * first), show(picture), whether it drew anew.
 */
export function makePicture(...beside) {
  const title = element("span");
  const holder = element("div", { class: "sheet" });
  const words = element("p", { class: "hush" });
  const node = element("figure", { class: "picture" },
    element("figcaption", {}, title, ...beside), holder, words);
  let drawn = "";
  return {
    node,
    holder,
    get svg() { return holder.firstElementChild; },
    show(picture) {
      title.textContent = picture.title;
      if (words.textContent !== picture.words) words.textContent = picture.words;
      if (drawn === picture.svg) return false;
      drawn = picture.svg;
      holder.innerHTML = drawn;
      this.svg.style.setProperty("--units", this.svg.viewBox.baseVal.width);
      return true;
    },
  };
}

/** Pictures one below the other, as a scan's or a comparison's are. */
export function pictureList(pictures) {
  const frames = pictures.map((picture) => {
    const frame = makePicture();
    frame.show(picture);
    return frame.node;
  });
  return element("div", { class: "picture-list" }, ...frames);
}
