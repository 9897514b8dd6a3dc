// Where a job stands: its steps in the order of the work, what is done, what is next. Pure.

const STEPS = [
  { do: "scan strung", name: "Scan strung", panel: "strung" },
  { do: "scan unstrung", name: "Scan unstrung", panel: "unstrung" },
  { do: "plan", name: "Plan", panel: "plan" },
  { do: "file", name: "File", panel: "file" },
  { do: "scan after", name: "Scan again", panel: "after" },
  { do: "verify", name: "Verify", panel: "verify" },
  { do: "string up", name: "String up", panel: "restrung" },
  { do: "report", name: "Report", panel: "report" },
];

/** The steps of a job: {name, panel, state}, state being done, next or later. */
export function stepsOf(job) {
  const next = STEPS.findIndex((step) => step.do === job.next.do);
  return STEPS.map((step, n) => ({ ...step, state: n < next ? "done" : n === next ? "next" : "later" }));
}

/** The panel a job is opened at. */
export function panelOf(job) {
  return STEPS.find((step) => step.do === job.next.do)?.panel ?? "plan";
}
