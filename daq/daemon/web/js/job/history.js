// Moves, to take back and to do again. Pure: it keeps what was asked before and after each.

const isPlain = (one) => typeof one === "object" && one !== null && !Array.isArray(one);
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/**
 * What is asked now, with one move taken back: of what the move changed, what was there before it;
 * of all else, what is there now, for another window may have moved that since.
 */
export function takenBack(now, before, after) {
  if (!isPlain(now) || !isPlain(before) || !isPlain(after)) {
    return same(before, after) ? now : before;
  }
  const keys = new Set([...Object.keys(now), ...Object.keys(before), ...Object.keys(after)]);
  const found = {};
  for (const key of keys) {
    const value = takenBack(now[key], before[key], after[key]);
    if (value !== undefined) found[key] = value;
  }
  return found;
}

/** Moves made on this page, the newest last. */
export class History {
  #done = [];    // {key, before, after}
  #undone = [];
  #open = false;

  /**
   * A move of `key` begins, or goes on: a slider that is dragged is one move. asked: as it is
   * before it. Whether a new move begins.
   */
  move(key, asked) {
    const last = this.#done.at(-1);
    if (this.#open && last?.key === key) return false;
    this.#done.push({ key, before: asked, after: asked });
    this.#undone = [];
    this.#open = true;
    return true;
  }

  /** What came of the moves so far. */
  came(asked) {
    if (this.#open) this.#done.at(-1).after = asked;
  }

  /** The hand rests: what is moved next is another move. A move that changed nothing was none. */
  rest() {
    const last = this.#done.at(-1);
    if (this.#open && same(last.before, last.after)) this.#done.pop();
    this.#open = false;
  }

  get canUndo() { return this.#done.length > 0; }

  get canRedo() { return this.#undone.length > 0; }

  /** What is to be asked so that the last move is taken back. */
  undo(now) {
    this.#open = false;
    const last = this.#done.pop();
    this.#undone.push(last);
    return takenBack(now, last.before, last.after);
  }

  /** What is to be asked so that the move taken back last is made again. */
  redo(now) {
    const last = this.#undone.pop();
    this.#done.push(last);
    return takenBack(now, last.after, last.before);
  }
}
