// What this page asks of a plan: moves, looks, taking back, and what other windows move. Pure: how
// it is sent, and who is told, are given.

import { History } from "./history.js";
import { moved, overrides, valueAt } from "./paths.js";
import { makeSender } from "./send.js";

export class Asking {
  /**
   * post(body): sends to `asked` of the job and gives the answer. told.tried(answer, at_ms);
   * told.began(): a new move begins; told.elsewhere(paths): moved in another window;
   * told.refused(fault, paths).
   */
  constructor({ tab, post, told }) {
    this.tab = tab;
    this.asked = null;
    this.revision = -1;
    this.show = { layer: "cut", string: 1, fretted: null, near: false, frets: null };
    this.movedLast = false;  // what is asked was moved last on this page
    this.paths = [];  // those that are watched for other windows' moves
    this.history = new History();
    this.told = told;
    this.sender = makeSender((body) => post({ tab, ...body }), {
      answered: (answer, what) => this.#answered(answer, what),
      refused: (fault, what) => told.refused(fault, Object.keys(what.change)),
    });
  }

  begin({ asked, revision }) {
    this.asked = asked;
    this.revision = revision;
  }

  /** What stands at a path once everything is answered. */
  wanted(path) {
    const waits = this.sender.unanswered;
    return path in waits ? waits[path] : valueAt(this.asked, path);
  }

  /** at_ms: when the hand moved, on the clock of `performance`. */
  move(path, value, at_ms) {
    if (this.history.move(path, this.asked)) this.told.began();
    this.sender.move({ [path]: value }, this.show, at_ms);
  }

  /** Another layer, string or place where it is held: nothing is asked for, only drawn anew. */
  look(show, at_ms) {
    this.show = { ...this.show, ...show };
    this.sender.move({}, this.show, at_ms);
  }

  undo(at_ms) { this.#back("canUndo", "undo", at_ms); }

  redo(at_ms) { this.#back("canRedo", "redo", at_ms); }

  #back(can, way, at_ms) {
    if (this.sender.busy || !this.history[can]) return;
    const asked = this.history[way](this.asked);
    this.told.began();
    this.sender.all(asked, this.show, at_ms);
  }

  /** The hand rests. */
  rest() { if (!this.sender.busy) this.history.rest(); }

  /** The daemon says that somebody moved something. */
  heard({ revision, tab }) {
    if (tab !== this.tab && revision > this.revision) this.look({});
  }

  /**
   * The daemon is there again; theirs: what it says is asked. Whether it was started anew and had
   * forgotten what was asked, which is put back then.
   */
  back(theirs) {
    const forgotten = this.forgotten(theirs);
    if (forgotten) this.#putBack();
    else this.look({});
    this.revision = theirs.revision;
    this.sender.again();
    return forgotten;
  }

  /** All that was asked, and on top of it what was moved while nobody answered. */
  #putBack() {
    const waits = this.sender.unanswered;
    this.sender.all(this.asked, this.show);
    if (Object.keys(waits).length > 0) this.sender.move(waits, this.show);
  }

  /** Whether nobody has moved anything at the daemon, where something had been moved before. */
  forgotten(theirs) { return theirs.revision === 0 && this.revision > 0; }

  #answered(answer, what) {
    const before = this.asked;
    this.asked = answer.asked;
    this.revision = answer.revision;
    this.history.came(answer.asked);
    this.told.tried(answer, what.at_ms);
    if (what.all !== undefined) return;
    const mine = Object.keys(what.change);
    if (mine.length > 0) this.movedLast = true;
    const paths = moved(before, answer.asked, this.paths).filter(
      (path) => !mine.some((own) => overrides(own, path) || overrides(path, own)));
    if (paths.length === 0) return;
    this.movedLast = false;
    this.told.elsewhere(paths);
  }
}
