// The plan on the bench: the board, one string, the controls, and what it all comes to.

import { ask } from "../ask.js";
import { Asking } from "./asking.js";
import { makeBoard } from "./board.js";
import { button, element } from "./element.js";
import { makeHeldBack } from "./heldback.js";
import { makeHelps } from "./helps.js";
import { makeKeep } from "./keep.js";
import { makeOutcome } from "./outcome.js";
import { painted } from "./pace.js";
import { makePlayer } from "./player.js";
import { makeRange } from "./range.js";
import { makeSection } from "./section.js";
import { makeSetup } from "./setup.js";
import { makeShape } from "./shape.js";
import { makeTabs } from "./tabs.js";

const REST_MS = 500;
const BENT = "moved in another window";
const OTHERS_FIRST_MS = 1500;  // after a restart, who moved last puts back what was asked

/**
 * job: as the daemon tells it; base: its address; begun: what GET asked gave; tab: this window's
 * name; gone(fault): the job is not there any more. The bench has node, heard(event), back(),
 * key(event), stop().
 */
export function makeBench({ job, base, begun, tab, gone }) {
  const { strings, frets, body_joint_fret: joint } = job.instrument;
  const { ranges, players } = begun;
  let fret = 1;
  let resting;
  let held = "least";

  const asking = new Asking({ tab, post: (body) => ask(`${base}/asked`, body),
    told: { tried: showTried, began: () => outcome.began(), elsewhere, refused } });
  asking.begin(begun);

  const move = (path, value, at_ms) => {
    asking.move(path, value, at_ms);
    rest();
  };
  const outcome = makeOutcome();
  const board = makeBoard({ frets, strings, told: {
    layer: (layer, at_ms) => asking.look({ layer }, at_ms),
    place: (at, string, at_ms) => {
      fret = at;
      look(string, held, at_ms);
    },
    open: (string, at_ms) => look(string, "open", at_ms),
    held: (path) => asking.wanted(path),
    hold: move } });
  const range = makeRange(frets);
  const section = makeSection({ strings, told: {
    string: (string, at_ms) => board.choose(fret, string, at_ms),
    held: (word, at_ms) => look(asking.show.string, word, at_ms),
    near: (yes, at_ms) => asking.look({ near: yes }, at_ms),
    turn: (way, at_ms) => {
      range.turn(way, fret);
      asking.look({ frets: range.asked }, at_ms);
    } } });
  const player = makePlayer({ players, ranges, strings, move });
  const setup = makeSetup({ ranges, strings, move });
  const shape = makeShape({ ranges, joint, move });
  const heldBack = makeHeldBack({ move });
  const helps = makeHelps({ ask: () => ask(`${base}/why`, {}) });
  const keep = makeKeep({ sheet: `${base}/sheet`, keep: (given) => ask(`${base}/plans`, given) });
  const tabs = makeTabs("What is asked", [["player", "Player", player.node],
    ["setup", "Set-up", setup.node], ["shape", "Shape", shape.node],
    ["held", "Held", heldBack.node], ["helps", "Cures", helps.node],
    ["keep", "Keep", keep.node]]);
  const controls = new Map([...player.controls, ...setup.controls, ...shape.controls]);
  asking.paths = [...controls.keys(), "player", "saddles", "nut", "shape"];

  const undo = button("Take back", (event) => back("undo", event.timeStamp),
    { aria: { keyshortcuts: "Control+Z" } });
  const redo = button("Do again", (event) => back("redo", event.timeStamp),
    { aria: { keyshortcuts: "Control+Shift+Z" } });
  const helpful = button("What would cure it", () => tabs.choose("helps"),
    { class: "main", hidden: true });
  const keeping = button("Keep this plan", () => tabs.choose("keep"), { class: "main", hidden: true });
  const said = element("p", { class: "said", role: "status" });
  const took = element("p", { class: "took" });
  const pictures = element("div", { class: "pictures", hidden: true }, board.node, section.node);
  const node = element("div", { class: "bench" },
    element("div", { class: "says" }, outcome.verdict,
      element("div", { class: "presses" }, undo, redo, keeping, helpful), said),
    pictures,
    element("div", { class: "side" }, outcome.cards, tabs.node),
    element("div", { class: "below" }, outcome.table, took));

  function back(way, at_ms) {
    asking[way](at_ms);
    rest();
  }

  function look(string, word, at_ms) {
    held = word;
    const fretted = { least: null, open: 0, fret: Math.min(fret, frets - 1) }[word];
    asking.look({ string, fretted }, at_ms);
  }

  function showTried(answer, at_ms) {
    pictures.hidden = false;
    outcome.show(answer);
    board.show(answer.map, asking.show.layer);
    section.show(answer.section, asking.show, fret);
    showAsked(answer.asked, answer);
    keep.show(answer);
    undo.disabled = !asking.history.canUndo;
    redo.disabled = !asking.history.canRedo;
    helps.show(answer);
    helpful.hidden = answer.feasible;
    keeping.hidden = !answer.feasible;
    tabs.say("helps", answer.feasible ? "Cures" : "Cures !");
    painted(at_ms, (ms) => {
      took.textContent = `Planned and drawn ${ms.toFixed(0)} ms after the move.`;
    });
  }

  function showAsked(asked, answer) {
    player.show(asked);
    setup.show(asked, answer);
    shape.show(asked);
    heldBack.show(asked);
  }

  function rest() {
    clearTimeout(resting);
    resting = setTimeout(() => {
      asking.rest();
      outcome.tell();
      helps.rest();
    }, REST_MS);
  }

  function elsewhere(paths) {
    for (const path of paths) controls.get(path)?.note(BENT);
    say(`Something was ${BENT}: what stands here is what is asked now.`);
    rest();
  }

  function refused(fault, paths) {
    if (fault.status === 404) gone(fault);
    else if (fault.status === 0) say("Not sent yet: the daemon is away. It is sent once it is back.");
    else {
      const control = paths.map((path) => controls.get(path)).find(Boolean);
      if (control) control.refuse(fault.message);
      say(fault.message);
    }
  }

  function say(text) { said.textContent = text; }

  undo.disabled = true;
  redo.disabled = true;
  showAsked(begun.asked, null);
  outcome.verdict.textContent = "Reading the scans …";
  asking.look({});
  rest();

  return {
    node,
    heard: (event) => asking.heard(event),
    async back() {
      let theirs = await ask(`${base}/asked`);
      if (asking.forgotten(theirs) && !asking.movedLast) {
        await new Promise((done) => setTimeout(done, OTHERS_FIRST_MS));
        theirs = await ask(`${base}/asked`);
      }
      const forgotten = asking.back(theirs);
      say(forgotten ? "The daemon was started anew: what you had asked is put back." : "");
      rest();
    },
    key(event) {
      if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return false;
      back(event.shiftKey ? "redo" : "undo", event.timeStamp);
      return true;
    },
    stop() { clearTimeout(resting); },
  };
}
