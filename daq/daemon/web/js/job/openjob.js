// Opening a job: its name, and the instrument's file chosen, pasted or the rig's own.

import { ask } from "../ask.js";
import { go } from "../views.js";
import { button, element } from "./element.js";
import { makeField } from "./field.js";
import { simulatedRig } from "./hands.js";

/** The form has node, offer(): looks whether the rig is made of software. */
export function makeOpenJob() {
  const name = makeField("Name of the job", { maxLength: 60 }, "Letters, digits, spaces; a folder is made of it");
  const text = makeField("Instrument file", { rows: 9, spellcheck: false },
    "Paste it here, or choose the file below");
  const file = element("input", { type: "file", accept: ".yaml,.yml,.txt", hidden: true,
    aria: { label: "Instrument file from this machine" } });
  const faults = element("ul", { class: "faults", role: "alert" });
  const press = element("button", { type: "submit", class: "main" }, "Open the job");
  const offered = element("div");

  file.addEventListener("change", async () => {
    if (file.files.length === 0) return;
    put(await file.files[0].text());
    file.value = "";
  });

  function put(content) {
    text.input.value = content;
    text.refuse("");
    faults.replaceChildren();
  }

  async function send(event) {
    event.preventDefault();
    faults.replaceChildren();
    if (name.value === "") return name.refuse("A job needs a name.");
    if (text.value === "") return text.refuse("A job needs the instrument's file.");
    press.disabled = true;
    try {
      const job = await ask("/v1/jobs", { name: name.value, instrument: text.input.value });
      go("job", job.name);
    } catch (fault) {
      if (fault.status === undefined) throw fault;
      faults.replaceChildren(...fault.message.split("\n").map((line) => element("li", {}, line)));
    } finally {
      press.disabled = false;
    }
    return undefined;
  }

  return {
    node: element("form", { class: "open-job", noValidate: true, on: { submit: send } },
      element("h2", {}, "Open a job"), offered, name.node, text.node, file,
      element("p", {}, button("Choose a file", () => file.click())), faults, press),
    async offer() {
      const rig = await simulatedRig();
      offered.replaceChildren(...(rig === null ? [] : [element("p", {},
        "The rig is made of software, and so is the instrument on it: "),
      button("Use its instrument file", () => put(rig.instrument))]));
    },
  };
}
