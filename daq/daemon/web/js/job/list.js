// Every job of the workshop, the newest first.

import { ask } from "../ask.js";
import { hashOf } from "../views.js";
import { element } from "./element.js";
import { counted } from "./words.js";

/** The list has node, read(). */
export function makeList() {
  const list = element("ul", { class: "plain jobs" });
  const said = element("p", { role: "status" });
  return {
    node: element("section", { aria: { label: "Jobs" } }, said, list),
    async read() {
      try {
        const { jobs } = await ask("/v1/jobs");
        said.textContent = jobs.length === 0 ? "No job yet: open the first one." : "";
        list.replaceChildren(...jobs.map(row));
      } catch (fault) {
        if (fault.status === undefined) throw fault;
        said.textContent = fault.message;
      }
    },
  };
}

function row(job) {
  const holds = [counted(job.scans, "scan"), counted(job.plans, "plan"), counted(job.checks, "check")];
  const what = job.fault === null
    ? `${job.instrument}: ${counted(job.strings, "string")}, ${counted(job.frets, "fret")}`
    : job.fault;
  return element("li", {}, element("a", { href: hashOf("job", job.name) },
    element("b", {}, job.name), element("span", { class: job.fault === null ? "" : "fault" }, what),
    element("span", { class: "soft" }, `${holds.join(", ")}; ${day(job.changed)}`)));
}

const day = (when) => new Date(when).toLocaleString("en-GB",
  { day: "numeric", month: "long", year: "numeric", hour: "2-digit", minute: "2-digit" });
