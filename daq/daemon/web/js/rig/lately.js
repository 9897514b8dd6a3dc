// What was so in the last minute or the last ten seconds: since the daemon began says nothing.

const LOST_OVER_MS = 60000;
const LAGS = 250;

/** The share of samples that was lost in the last minute. */
export class LostLately {
  constructor() {
    this.counts = [];
  }

  /** The share from 0 to 1, after a live message. */
  share({ at_ms: now, samples, lost }) {
    // fewer samples than before: the rig was connected anew, and counts from nothing
    this.counts = this.counts.filter(
      (one) => now - one.now < LOST_OVER_MS && one.samples <= samples);
    this.counts.push({ now, samples, lost });
    const first = this.counts[0];
    const gone = lost - first.lost;
    return gone / Math.max(1, samples - first.samples + gone);
  }
}

/** How late what is drawn is, and how often it is drawn. */
export class Lateness {
  constructor() {
    this.seen = [];
  }

  /** Drawn now, of a message whose oldest sample came at from_ms. */
  drawn(now_ms, from_ms) {
    this.seen.push({ now_ms, lag: now_ms - from_ms });
    if (this.seen.length > LAGS) this.seen.shift();
  }

  /** {middle_ms, most_ms, per_s}, or null before anything was drawn twice. */
  get found() {
    if (this.seen.length < 2) return null;
    const lags = this.seen.map((one) => one.lag).sort((a, b) => a - b);
    const passed_ms = this.seen[this.seen.length - 1].now_ms - this.seen[0].now_ms;
    return {
      middle_ms: lags[Math.floor(lags.length / 2)],
      most_ms: lags[lags.length - 1],
      per_s: (1000 * (this.seen.length - 1)) / Math.max(passed_ms, 1),
    };
  }
}
