// What a plan comes to, in sight: the verdict, a few large numbers, each with what it was before.

import { element } from "./element.js";
import { cardsOf, rowsOf, verdictWords } from "./figures.js";

/** The outcome has verdict, cards, table (by string), show(tried), began(), tell(). */
export function makeOutcome() {
  const verdict = element("p", { class: "verdict" });
  const cards = element("div", { class: "cards" });
  const table = element("div", { class: "by-string", tabIndex: 0, role: "region",
    aria: { label: "To set, by string" } });
  const said = element("p", { class: "hush", role: "status" });
  const node = element("section", { aria: { label: "What it comes to" } }, cards, said);
  let now = null;
  let was = null;

  return {
    verdict,
    cards: node,
    table,
    /** A move begins: what stands here is what it was before it. */
    began() { was = now; },
    show(tried) {
      now = tried;
      verdict.textContent = `${tried.feasible ? "✓" : "✗"} ${verdictWords(tried)}`;
      verdict.classList.toggle("bad", !tried.feasible);
      cards.replaceChildren(...cardPairs(tried, was).map(card));
      table.replaceChildren(...byString(tried, was));
    },
    /** For who cannot see it: once the hand rests. */
    tell() {
      if (now === null) return;
      const [metal, rod, least] = cardsOf(now);
      const text = [verdictWords(now), ...[metal, rod, least].map(
        (one) => `${one.what} ${one.value} ${one.unit}`)].join(" ");
      if (said.textContent !== text) said.textContent = text;
    },
  };
}

function cardPairs(tried, was) {
  const before = was === null ? [] : cardsOf(was);
  return cardsOf(tried).map((one, n) => ({ ...one, was: before[n]?.short }));
}

function card({ what, value, unit, more, short, was }) {
  return element("div", { class: "card" },
    element("span", { class: "what" }, what),
    element("b", {}, value), element("span", { class: "unit" }, unit),
    element("span", { class: "more" }, more),
    element("span", { class: "was" }, was === short || was === undefined ? "" : `was ${was}`));
}

function byString(tried, was) {
  const rows = rowsOf(tried);
  const before = was === null ? rows : rowsOf(was);
  const strings = tried.action.map((one) => element("th", { scope: "col" }, String(one.string)));
  const cell = (text, old) => element("td", {}, text,
    element("span", { class: "was" }, old === text ? "" : `was ${old}`));
  const body = rows.map(({ what, values }, r) => element("tr", {},
    element("th", { scope: "row" }, what), ...values.map((one, n) => cell(one, before[r].values[n]))));
  return [element("h3", {}, "To set, mm by string"), element("table", {},
    element("thead", {}, element("tr", {}, element("td"), ...strings)),
    element("tbody", {}, ...body))];
}
