// A canvas that is as fine as the screen, and the page's colours for it.

const NAMES = ["paper", "ink", "soft", "line", "card", "past", "strung", "unstrung"];
let colours = null;

/** The page's colours now, by name: light or dark as the screen is. */
export function colour(name) {
  if (colours === null) {
    const style = getComputedStyle(document.documentElement);
    colours = Object.fromEntries(
      NAMES.map((one) => [one, style.getPropertyValue(`--${one}`).trim()]));
  }
  return colours[name];
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { colours = null; });

/** A canvas to draw on in CSS pixels. redraw: called where its size changed. */
export class Sheet {
  constructor(canvas, redraw) {
    this.canvas = canvas;
    this.pen = canvas.getContext("2d");
    this.wide = 0;
    this.high = 0;
    new ResizeObserver(([{ contentRect: box }]) => {
      this.wide = box.width;
      this.high = box.height;
      redraw();
    }).observe(canvas);
  }

  /** Clears it; whether there is anything to draw on. */
  clear() {
    if (this.wide < 1 || this.high < 1) return false;
    const ratio = window.devicePixelRatio || 1;
    const size = [Math.round(this.wide * ratio), Math.round(this.high * ratio)];
    if (this.canvas.width !== size[0] || this.canvas.height !== size[1]) {
      [this.canvas.width, this.canvas.height] = size;
    }
    this.pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    this.pen.clearRect(0, 0, this.wide, this.high);
    return true;
  }
}
