// The profile of a pass: least and greatest reading in each bin along the rail.

import { Columns } from "./columns.js";

const NEAR_MM = 0.5;  // a finger is no finer

/** Bins as the daemon tells them, and grows them. */
export class Bins {
  constructor({ from_mm, bin_mm, low, high }) {
    this.from_mm = from_mm;
    this.bin_mm = bin_mm;
    this.low = Float64Array.from(low, number);
    this.high = Float64Array.from(high, number);
  }

  /** A strip of bins as they are now: {first, low, high}. */
  put({ first, low, high }) {
    low.forEach((least, n) => {
      this.low[first + n] = number(least);
      this.high[first + n] = number(high[n]);
    });
  }

  /** A new pass begins. */
  clear() {
    this.low.fill(NaN);
    this.high.fill(NaN);
  }

  /** What was read at a place or as near as a finger points: {x_mm, low, high}, or null. */
  at(x_mm) {
    const here = Math.floor((x_mm - this.from_mm) / this.bin_mm);
    for (let off = 0; off * this.bin_mm <= NEAR_MM; off++) {
      for (const bin of [here - off, here + off]) {
        if (this.low[bin] <= this.high[bin]) {
          return { x_mm: this.middle(bin), low: this.low[bin], high: this.high[bin] };
        }
      }
    }
    return null;
  }

  /** Where a bin's middle is, mm. */
  middle(bin) {
    return this.from_mm + (bin + 0.5) * this.bin_mm;
  }

  /** What lies between two places, in so many columns. */
  columns(from_mm, to_mm, wide) {
    const found = new Columns(wide);
    const each = wide / (to_mm - from_mm);
    const first = Math.max(0, Math.floor((from_mm - this.from_mm) / this.bin_mm));
    const end = Math.min(this.low.length, Math.ceil((to_mm - this.from_mm) / this.bin_mm));
    for (let bin = first; bin < end; bin++) {
      found.add((this.middle(bin) - from_mm) * each, this.low[bin], this.high[bin]);
    }
    return found;
  }
}

const number = (value) => value ?? NaN;
