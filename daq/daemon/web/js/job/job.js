// One job: where it stands, and the panel of the step that is open.

import { ask } from "../ask.js";
import { makeBench } from "./bench.js";
import { element } from "./element.js";
import { makeHands, simulatedRig } from "./hands.js";
import { makePanel } from "./panels.js";
import { makeStepsRow } from "./stepsrow.js";
import { panelOf } from "./whereabouts.js";

/** Panels of steps that a person does at the rig. */
const BY_HAND = ["strung", "unstrung", "file", "after", "restrung"];

/**
 * name: of the job; tab: this window's name; gone(fault): it is not there any more. The view has
 * node, open(), asked(event), changed(), back(), key(event), stop().
 */
export function makeJob({ name, tab, gone }) {
  const base = `/v1/jobs/${encodeURIComponent(name)}`;
  const row = makeStepsRow(openPanel);
  const title = element("h2", { class: "job-name" }, name);
  const next = element("p", { class: "next-words" });
  const inside = element("div", { class: "inside" });
  const handsPlace = element("div");
  const node = element("div", { class: "job" },
    element("div", { class: "job-head" }, title, row.node, next), inside, handsPlace);
  let job = null;
  let panel = null;
  let bench = null;   // of the plan's panel
  let below = null;   // any other panel
  let stopped = false;

  async function read() {
    try {
      return await ask(base);
    } catch (fault) {
      failed(fault);
      return null;
    }
  }

  function failed(fault) {
    if (fault.status === undefined) throw fault;
    if (fault.status === 404) gone(fault);
    else next.textContent = fault.message;
  }

  function showHead() {
    const { instrument } = job;
    title.replaceChildren(name, element("span", { class: "soft" }, ` ${instrument.name}`));
    next.replaceChildren(element("b", {}, "Next: "), job.next.words);
    row.show(job, panel);
  }

  async function openPanel(chosen) {
    panel = chosen;
    showHead();
    bench?.stop();
    bench = null;
    below = null;
    handsPlace.hidden = !BY_HAND.includes(chosen);
    if (chosen === "plan") await openBench();
    else {
      below = makePanel(chosen, { job, base, again: () => changed() });
      inside.replaceChildren(below.node);
    }
  }

  async function openBench() {
    try {
      const begun = await ask(`${base}/asked`);
      if (stopped || panel !== "plan") return;
      bench = makeBench({ job, base, begun, tab, gone });
      inside.replaceChildren(bench.node);
    } catch (fault) {
      if (fault.status === undefined) throw fault;
      if (fault.status === 404) gone(fault);
      inside.replaceChildren(element("p", { class: "fault" }, fault.message));
    }
  }

  /** Its folder holds something new: the head says so; what is open stays, and shows it. */
  async function changed() {
    const now = await read();
    if (now === null || stopped) return;
    job = now;
    showHead();
    below?.changed(job);
  }

  return {
    node,
    async open() {
      job = await read();
      if (job === null || stopped) return;
      await openPanel(panelOf(job));
      try {
        const rig = await simulatedRig();
        if (rig !== null) handsPlace.replaceChildren(makeHands(rig, name).node);
      } catch (fault) {
        failed(fault);
      }
    },
    asked: (event) => bench?.heard(event),
    changed,
    async back() {
      await changed();
      if (bench !== null) await bench.back();
      else if (job === null && !stopped) await this.open();
    },
    key: (event) => bench?.key(event) ?? false,
    stop() {
      stopped = true;
      bench?.stop();
    },
  };
}
