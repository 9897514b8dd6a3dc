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

  /** Stretches of columns with no hole wider than `reach`, and a straight line across the holes:
   * [{first, low, high}], first: the number of their first column. */
  runs(reach) {
    const found = [];
    let last = -Infinity;
    for (let column = 0; column < this.low.length; column++) {
      if (Number.isNaN(this.low[column])) continue;
      if (column - last > reach) found.push({ first: column, low: [], high: [] });
      const run = found[found.length - 1];
      across(run.low, this.low[column], column - run.first);
      across(run.high, this.high[column], column - run.first);
      last = column;
    }
    return found;
  }
}

/** Puts a value at a place, and a straight line from the last value to it. */
function across(values, value, place) {
  const start = values.length - 1;
  const from = values[start];
  for (let n = start + 1; n < place; n++) {
    values.push(from + ((value - from) * (n - start)) / (place - start));
  }
  values.push(value);
}
