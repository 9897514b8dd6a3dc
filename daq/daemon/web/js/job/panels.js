// What belongs to each step of a job but the plan: a form to do it, and below what came of it.

import { ask } from "../ask.js";
import { makeCompare } from "./compare.js";
import { button, element } from "./element.js";
import { makeFindings } from "./findings.js";
import { sheetLink } from "./keep.js";
import { makeScanForm } from "./scanform.js";

/** Of each panel: what is done there, and what is found there, by {job, base, again()}. */
const PANELS = {
  strung: [(given) => scan(given, "strung"), (given) => found(given, "strung")],
  unstrung: [(given) => scan(given, "unstrung"),
    (given) => [...found(given, "unstrung"), ...compared(given, "states")]],
  after: [(given) => scan(given, "unstrung"), (given) => found(given, "unstrung")],
  restrung: [(given) => scan(given, "strung"), (given) => found(given, "strung")],
  file: [file, () => []],
  verify: [verify, (given) => compared(given, "filed")],
  report: [report, () => []],
};

/** name: of the panel; again(): reads the job anew. The panel has node, changed(job). */
export function makePanel(name, { job, base, again }) {
  const [done, foundThere] = PANELS[name];
  const below = element("div", { class: "step-panel" });
  let holds = "";

  function changed(now) {
    const holding = JSON.stringify([now.scans, now.checks]);
    if (holding === holds) return;
    holds = holding;
    below.replaceChildren(...foundThere({ job: now, base }));
  }

  changed(job);
  return { node: element("div", { class: "step-panel" }, done({ job, base, again }), below), changed };
}

const scansOf = (job, state) => job.scans.filter((one) => one.state === state);

function scan({ job, again }, state) {
  const turns = job.scans.at(-1)?.rod_turns ?? null;
  return makeScanForm({ job: job.name, state, rod_turns: turns, done: again }).node;
}

function found({ job, base }, state) {
  const scans = scansOf(job, state);
  if (scans.length === 0) return [];
  const findings = makeFindings();
  findings.read(`${base}/found?state=${state}`);
  const names = scans.map((one) => element("li", { class: one.fault ? "fault" : "" },
    `${one.file}${one.label ? `: ${one.label}` : ""}${one.fault ? `: ${one.fault}` : ""}`));
  return [element("section", {}, element("h2", {}, `Found, ${state}`),
    element("ul", { class: "plain files" }, ...names), findings.node)];
}

const THERE = {
  states: (job) => ["strung", "unstrung"].every((state) => scansOf(job, state).length > 0),
  filed: (job) => job.checks.length > 0,
};

function compared({ job, base }, what) {
  if (!THERE[what](job)) return [];
  return [makeCompare({ base, what, strings: job.instrument.strings }).node];
}

function file({ job, base }) {
  const plan = job.plans.at(-1);
  if (plan === undefined) return element("p", {}, "No plan is kept yet: keep one first.");
  return element("section", {}, element("h2", {}, `Plan ${plan.file.replace(/\.json$/, "")}`),
    element("p", {}, "Set up, then file by the bench sheet, strings off. Eyes and lungs: keep " +
      "metal dust out of them. A cut cannot be undone."), sheetLink(`${base}/sheet`));
}

function verify({ job, base, again }) {
  const said = element("div", { role: "status" });
  const press = button("Verify what came off", async () => {
    press.disabled = true;
    said.replaceChildren(element("p", { class: "soft" }, "Reading the scans …"));
    try {
      const { sentences } = await ask(`${base}/checks`, {});
      said.replaceChildren(...sentences.map((text) => element("p", {}, text)));
      again();
    } catch (fault) {
      if (fault.status === undefined) throw fault;
      said.replaceChildren(element("p", { class: "fault" }, fault.message));
    }
    press.disabled = false;
  }, { class: "main" });
  const checks = job.checks.length;
  const before = checks === 0 ? "Planned against achieved, by the scan after the cut."
    : `Verified ${checks === 1 ? "once" : `${checks} times`} so far.`;
  return element("section", {}, element("p", {}, before), press, said);
}

function report({ base }) {
  return element("section", {},
    element("p", {}, "One file for the customer and the drawer: what came in, what was measured, " +
      "what was done, and what to expect."),
    element("div", { class: "tools" }, link("Open the report", `${base}/report`, "press main"),
      link("Open the bench sheet", `${base}/sheet`, "press")));
}

const link = (text, href, kind) => element("a", { class: kind, href, target: "_blank",
  rel: "noopener" }, text);
