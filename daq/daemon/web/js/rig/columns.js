// Least and greatest in each column of a picture, so that a spike of one sample is still seen.

/** Columns of a picture that is `count` of them wide; NaN where nothing fell. */
export class Columns {
  constructor(count) {
    this.low = new Float64Array(count).fill(NaN);
    this.high = new Float64Array(count).fill(NaN);
  }

  /** A reading's least and greatest, at a place from 0 to below `count`; NaN is no reading. */
  add(place, low, high) {
    const column = Math.floor(place);
    if (column < 0 || column >= this.low.length || Number.isNaN(low)) return;
    if (!(this.low[column] <= low)) this.low[column] = low;
    if (!(this.high[column] >= high)) this.high[column] = high;
  }

  /** [least, greatest] of all, or null where there is nothing. */
  get extremes() {
    let least = Infinity;
    let greatest = -Infinity;
    for (let column = 0; column < this.low.length; column++) {
      if (this.low[column] < least) least = this.low[column];
      if (this.high[column] > greatest) greatest = this.high[column];
    }
    return least > greatest ? null : [least, greatest];
  }

  /** Stretches of filled columns with no hole wider than `reach`: arrays of column numbers. */
  runs(reach) {
    const found = [];
    let last = -Infinity;
    for (let column = 0; column < this.low.length; column++) {
      if (Number.isNaN(this.low[column])) continue;
      if (column - last > reach) found.push([]);
      found[found.length - 1].push(column);
      last = column;
    }
    return found;
  }
}
