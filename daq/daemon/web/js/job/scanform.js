// Scanning a state from the page: what it is called, and where the rod stands.

import { ask } from "../ask.js";
import { hear } from "../stream.js";
import { beganHere } from "../work.js";
import { element } from "./element.js";
import { readNumber } from "./entry.js";
import { makeField } from "./field.js";

const TURNS = [-3, 3, 0.01];
const WORDS = {
  strung: "Strings on and at pitch. Every lane between the strings is scanned, both ways.",
  unstrung: "Strings off, the neck not moved if you can. Every lane is scanned, both ways.",
};

const running = new Map();  // work -> what to do when it has ended

hear("work_ended", ({ work }) => {
  running.get(work)?.();
  running.delete(work);
});

/** done(): the scan is in the job. The form has node. */
export function makeScanForm({ job, state, rod_turns, done }) {
  const label = makeField("Label", { maxLength: 60 }, "A word of your own; may be empty");
  const turns = makeField("Rod turned since the job was opened, turns",
    { value: String(rod_turns ?? ""), inputMode: "decimal" }, "Tighter +, looser −; empty: as before");
  const press = element("button", { type: "submit", class: "main" }, `Scan ${state}`);
  const said = element("p", { role: "status" });

  async function send(event) {
    event.preventDefault();
    const given = { kind: "scan", job, state, label: label.value, rod_turns: null };
    if (turns.value !== "") {
      const read = readNumber(turns.value, TURNS, "turns");
      if (read.fault !== undefined) {
        turns.refuse(read.fault);
        return;
      }
      given.rod_turns = read.value;
    }
    press.disabled = true;
    try {
      const { id } = await ask("/v1/work", given);
      beganHere(id);
      say("The rig is at work; what it does, and what it asks of you, stands above.", false);
      running.set(id, () => result(id));
    } catch (fault) {
      failed(fault);
    }
  }

  async function result(id) {
    try {
      const { result: { caution } } = await ask(`/v1/work/${id}/result`);
      say(caution || "Scanned.", Boolean(caution));
      done();
    } catch (fault) {
      failed(fault);
    }
    press.disabled = false;
  }

  function failed(fault) {
    if (fault.status === undefined) throw fault;
    say(fault.message, true);
    press.disabled = false;
  }

  function say(text, bad) {
    said.textContent = text;
    said.classList.toggle("fault", bad);
  }

  return { node: element("form", { class: "scan-form", noValidate: true, on: { submit: send } },
    element("p", {}, WORDS[state]), label.node, turns.node, press, said) };
}
