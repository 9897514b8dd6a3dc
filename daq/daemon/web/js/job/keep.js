// Keeping the plan: with what it is cut, and then what the same is in a terminal, and its sheet.

import { element } from "./element.js";
import { readNumber } from "./entry.js";
import { makeField } from "./field.js";
import { recall, remember } from "./remembered.js";

const BEAM_MM = [50, 1500, 1];

/** keep(given): posts and gives {file, command}; sheet: its address. The group has node, show(tried). */
export function makeKeep({ keep, sheet }) {
  const before = recall("cutting");
  const tool = makeField("Tool", { value: before.tool ?? "file" });
  const metal = makeField("Fret metal", { value: before.metal ?? "nickel silver" });
  const beam = makeField("Straight beam, mm", { value: before.beam_mm ?? "", inputMode: "decimal" },
    "Its length; empty where you have none");
  const prop = element("input", { type: "checkbox", checked: before.prop ?? false });
  const press = element("button", { type: "submit", class: "main" }, "Keep this plan");
  const said = element("div", { role: "status" });
  const form = element("form", { noValidate: true, on: { submit: send } }, tool.node, metal.node,
    beam.node, element("label", { class: "tick" }, prop, "The neck may be propped on the bench"), press);

  function read() {
    const given = { tool: tool.value, metal: metal.value, beam_mm: null, prop: prop.checked };
    for (const one of [tool, metal]) if (one.value === "") return one.refuse("Nothing stands here.");
    if (beam.value === "") return given;
    const length = readNumber(beam.value, BEAM_MM, "mm");
    if (length.fault !== undefined) return beam.refuse(length.fault);
    return { ...given, beam_mm: length.value };
  }

  async function send(event) {
    event.preventDefault();
    const given = read();
    if (given === undefined) return;
    remember("cutting", { ...given, beam_mm: beam.value });
    press.disabled = true;
    try {
      said.replaceChildren(...kept(await keep(given), sheet));
    } catch (fault) {
      if (fault.status === undefined) throw fault;
      said.replaceChildren(element("p", { class: "fault" }, fault.message));
    } finally {
      press.disabled = false;
    }
  }

  return {
    node: element("div", {}, form, said),
    show(tried) { press.textContent = tried.feasible ? "Keep this plan" : "Keep this answer"; },
  };
}

function kept({ file, command }, sheet) {
  return [
    element("p", {}, `Kept as plan ${file.replace(/\.json$/, "")}. The same in a terminal:`),
    element("code", { class: "command", tabIndex: 0 }, command),
    sheetLink(sheet),
  ];
}

/** Opens the bench sheet in a tab of its own, from which it is printed. */
export const sheetLink = (address) => element("a", { class: "press main", href: address,
  target: "_blank", rel: "noopener" }, "Open the bench sheet to print");
