// The jobs' view: the list, one job, and what the daemon says of them.

import { hear, whenBack } from "../stream.js";
import { addView, go } from "../views.js";
import { button, element } from "./element.js";
import { makeJob } from "./job.js";
import { makeKeysList } from "./keyslist.js";
import { makeList } from "./list.js";
import { makeOpenJob } from "./openjob.js";

const TYPED = ["text", "textarea", "search"];
const tab = crypto.getRandomValues(new Uint32Array(2)).join("-");

const main = document.getElementById("job-view");
const list = makeList();
const openJob = makeOpenJob();
const keys = makeKeysList();
const notice = element("p", { class: "notice", role: "status", hidden: true });
const listed = element("div", { class: "jobs-view", hidden: true }, list.node, openJob.node);
const place = element("div", { hidden: true });
main.append(notice, listed, place, keys.node,
  button("Keys: ?", () => keys.open(), { class: "keys-button small" }));

let job = null;   // {name, view}

addView("jobs", {
  show() {
    main.hidden = false;
    listed.hidden = false;
    list.read();
    openJob.offer();
  },
  hide() {
    main.hidden = true;
    listed.hidden = true;
    notice.hidden = true;
  },
});

addView("job", {
  show(name) {
    main.hidden = false;
    place.hidden = false;
    if (job?.name === name) return;
    close();
    job = { name, view: makeJob({ name, tab, gone: (fault) => gone(name, fault) }) };
    place.replaceChildren(job.view.node);
    job.view.open();
  },
  hide() {
    main.hidden = true;
    place.hidden = true;
  },
});

function close() {
  job?.view.stop();
  job = null;
  place.replaceChildren();
}

/** A job that vanished: said where the list is. */
function gone(name, fault) {
  if (job?.name !== name) return;
  close();
  notice.textContent = `Job ${name} is not there any more: ${fault.message}`;
  go("jobs");
  notice.hidden = false;
}

hear("asked", (told) => { if (job?.name === told.job) job.view.asked(told); });
hear("job", (told) => {
  if (job?.name === told.job) job.view.changed();
  if (!listed.hidden) list.read();
});
whenBack(() => {
  job?.view.back();
  if (!listed.hidden) list.read();
});

addEventListener("keydown", (event) => {
  const typing = TYPED.includes(event.target.type ?? "");
  if (main.hidden || typing) return;
  if (event.key === "?") keys.open();
  else if (!place.hidden && job?.view.key(event)) event.preventDefault();
});
