// The readings of the last seconds: least and greatest of a few milliseconds each.

import { Columns } from "./columns.js";

const ROOM = 8192;  // 25 messages a second of 8 bins: 40 s

/** A ring of bins, oldest overwritten. */
export class Recent {
  constructor() {
    this.t_ms = new Float64Array(ROOM);
    this.low = new Float64Array(ROOM);
    this.high = new Float64Array(ROOM);
    this.next = 0;
    this.count = 0;
  }

  /** A live message's bins: {from_ms, at_ms, low, high}, null where there is no reading. */
  add({ from_ms: from, at_ms: to, low, high }) {
    const each = (to - from) / Math.max(low.length, 1);
    low.forEach((least, n) => {
      this.t_ms[this.next] = from + (n + 0.5) * each;
      this.low[this.next] = least ?? NaN;
      this.high[this.next] = high[n] ?? NaN;
      this.next = (this.next + 1) % ROOM;
    });
    this.count = Math.min(ROOM, this.count + low.length);
  }

  /** What lies between two times, in so many columns. */
  columns(from_ms, to_ms, wide) {
    const found = new Columns(wide);
    const each = wide / (to_ms - from_ms);
    for (let n = 0; n < this.count; n++) {
      found.add((this.t_ms[n] - from_ms) * each, this.low[n], this.high[n]);
    }
    return found;
  }
}
