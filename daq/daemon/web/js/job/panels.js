// What belongs to each step of a job but the plan: forms to do it, and what came of it.

import { ask } from "../ask.js";
import { makeCompare } from "./compare.js";
import { button, element } from "./element.js";
import { sheetLink } from "./keep.js";
import { makeScanForm } from "./scanform.js";
import { makeTold } from "./told.js";

/** name: of the panel; given: {job, base, again()}: again() reads the job anew. A node. */
export function makePanel(name, given) {
  return element("div", { class: "step-panel" }, ...PANELS[name](given));
}

const PANELS = {
  strung: (given) => [scan(given, "strung"), ...found(given, "strung")],
  unstrung: (given) => [scan(given, "unstrung"), ...found(given, "unstrung"), ...states(given)],
  after: (given) => [scan(given, "unstrung"), ...found(given, "unstrung")],
  restrung: (given) => [scan(given, "strung"), ...found(given, "strung")],
  file: (given) => [file(given)],
  verify: (given) => [verify(given), ...filed(given)],
  report: (given) => [report(given)],
};

const scansOf = ({ job }, state) => job.scans.filter((one) => one.state === state);

function scan({ job, again }, state) {
  const turns = job.scans.at(-1)?.rod_turns ?? null;
  return makeScanForm({ job: job.name, state, rod_turns: turns, done: again }).node;
}

function found(given, state) {
  const scans = scansOf(given, state);
  if (scans.length === 0) return [];
  const told = makeTold();
  told.read(`${given.base}/found?state=${state}`);
  const names = scans.map((one) => element("li", { class: one.fault ? "fault" : "" },
    `${one.file}${one.label ? `: ${one.label}` : ""}${one.fault ? `: ${one.fault}` : ""}`));
  return [element("section", {}, element("h2", {}, `Found, ${state}`),
    element("ul", { class: "plain files" }, ...names), told.node)];
}

function states(given) {
  const both = ["strung", "unstrung"].every((state) => scansOf(given, state).length > 0);
  return both ? [compare(given, "states")] : [];
}

function filed(given) {
  return given.job.checks.length > 0 ? [compare(given, "filed")] : [];
}

const compare = ({ job, base }, what) => makeCompare({ base, what,
  strings: job.instrument.strings }).node;

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
    element("a", { class: "press main", href: `${base}/report`, target: "_blank", rel: "noopener" },
      "Open the report"), " ",
    element("a", { class: "press", href: `${base}/sheet`, target: "_blank", rel: "noopener" },
      "Open the bench sheet"));
}
