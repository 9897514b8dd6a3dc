// What a plan comes to, in the few numbers that matter: each with what it was before. Pure.

import { counted, fixed, position, signed } from "./words.js";

/** Cards: {what, value, unit, more, short}; value "–" where there is no plan; short: to be compared. */
export function cardsOf(tried) {
  return [metal(tried), rod(tried), least(tried), places(tried)].map(
    (card) => ({ short: card.value, ...card }));
}

function metal({ feasible, metal_um, level_um }) {
  if (!feasible) return { what: "Metal off", value: "–", unit: "", more: "no plan, nothing is cut" };
  const share = level_um < 0.5 ? "levelling would take nothing"
    : `${shareWords((100 * metal_um) / level_um)} % of levelling`;
  return { what: "Metal off", value: fixed(metal_um, 0), unit: "µm", more: share };
}

const shareWords = (percent) => (percent > 0 && percent < 1 ? "under 1" : fixed(percent, 0));

function rod({ feasible, rod: { turns, direction, relief_change_mm } }) {
  const what = "Rod, turns";
  if (!feasible) return { what, value: "–", unit: "", more: "" };
  if (direction === "none") return { what, value: "stays", unit: "", more: "as it is" };
  const way = direction === "tighten" ? "tighter" : "looser";
  return { what, value: fixed(turns, 2), unit: way,
    more: `${signed(relief_change_mm, 2)} mm of relief`, short: `${fixed(turns, 2)} ${way}` };
}

function least({ least: one }) {
  const what = "Least room";
  if (one === null) return { what, value: "–", unit: "", more: "" };
  const where = `${position(one).replace("fretted ", "")} over fret ${one.at}`;
  return { what, value: fixed(one.spare_mm, 3), unit: "mm", more: where };
}

function places({ tally }) {
  const all = tally.clear + tally.undecided + tally.buzzes;
  const what = "Places clear";
  if (tally.clear === all) return { what, value: `${all}`, unit: "", more: "all of them" };
  return { what, value: `${tally.clear}`, unit: `of ${all}`,
    more: `${tally.undecided} undecided, ${tally.buzzes} buzz` };
}

/** By string: {what, values}, in hundredths of a millimetre said as mm. */
export function rowsOf(tried) {
  const values = (list, key, say) => list.map((one) => say(one[key], 2));
  return [
    { what: "Saddle", values: values(tried.saddles, "change_mm", signed) },
    { what: "Nut slot", values: values(tried.nut, "change_mm", signed) },
    { what: "Action after", values: values(tried.action, "after_mm", fixed) },
  ];
}

/** What stays short, the worst first, as a line each. */
export function shortWords({ short, shape_short }) {
  const worst = [...short].sort((a, b) => b.short_mm - a.short_mm).map((one) => {
    const by = one.short_mm >= 5e-4 ? fixed(one.short_mm, 3) : "less than 0.001";
    return `${position(one)} stays ${by} mm short over fret ${one.at}`;
  });
  const shape = [...shape_short].sort((a, b) => b.short_um - a.short_um).map((one) => (
    `Fret ${one.fret} under string ${one.string} stays ${fixed(one.short_um, 0)} µm above the shape`));
  return [...worst, ...shape];
}

/** All of it in one line: the worst, and how many more there are. */
export function verdictWords(tried) {
  if (tried.feasible) return "Every margin and limit is met.";
  const short = shortWords(tried);
  if (short.length === 0) return "No plan meets everything that is asked.";
  const more = short.length > 1 ? `, and ${counted(short.length - 1, "more place")}` : "";
  return `${short[0]}${more}.`;
}
