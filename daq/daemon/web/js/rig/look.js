// What is looked at closely, and the place that a finger points at. All in mm along the rail.

const HALF_MM = 30;

/** travel_mm: the carriage's, from and to. follows: the close look goes with the carriage. */
export class Look {
  constructor(travel_mm) {
    [this.least, this.most] = travel_mm;
    this.middle = this.least;
    this.follows = true;
    this.finger = null;
  }

  /** [from, to] of the close look. */
  get window() {
    const half = Math.min(HALF_MM, (this.most - this.least) / 2);
    const middle = Math.min(this.most - half, Math.max(this.least + half, this.middle));
    return [middle - half, middle + half];
  }

  /** The carriage is here now. */
  carriageAt(x_mm) {
    if (this.follows && x_mm !== null) this.middle = x_mm;
  }

  /** Looks at a place and stays there. */
  lookAt(x_mm) {
    this.follows = false;
    this.middle = this.inside(x_mm);
  }

  /** Points at a place; the close look comes along where it is outside it. */
  pointAt(x_mm) {
    this.finger = this.inside(x_mm);
    const [from, to] = this.window;
    if (this.finger < from || this.finger > to) this.lookAt(this.finger);
  }

  /** Points nowhere. */
  letGo() {
    this.finger = null;
  }

  /** The nearest place on the rail. */
  inside(x_mm) {
    return Math.min(this.most, Math.max(this.least, x_mm));
  }
}

/** What a key does to a place: the place it goes to, or null where the key means nothing here.
 * small, large: steps of the arrows and of page up and down. */
export function keyed(key, place, [from, to], small, large) {
  const steps = {
    ArrowLeft: place - small, ArrowRight: place + small,
    ArrowDown: place - small, ArrowUp: place + small,
    PageDown: place - large, PageUp: place + large, Home: from, End: to,
  };
  return steps[key] ?? null;
}
