// A work's progress as words: what it is at, how far it is, what it remarked.

const NAMES = {
  "scan": "Scan", "record": "Recording", "check rig": "Check of the rig",
  "calibrate rail": "Measurement of the rail", "calibrate lag": "Measurement of the lag",
  "check": "Look at the rig standing still", "over_pads": "Drive over the pads",
  "look": "Look at the sensor",
};
const AT_FIRST = {
  "check rig": "the rig stands still, then the carriage goes along its whole travel and back",
  "check": "do not touch the rig", "over_pads": "the carriage goes along its whole travel and back",
};
const TELLS_ITS_END = ["scan", "record"];
const MOST_SAID = 4;
const OVER = "no longer so: ";
const ASKS_FIRST = "Not begun: it waits for your answer above.";
const ASKS = "It waits for your answer above.";

/** What a kind of work is called. */
export const workName = (kind) => NAMES[kind] ?? kind;

/** A work that begins, or that asks first whether it may. */
export function begunWork(id, kind, begun = true) {
  return { id, kind, begun, asks: !begun, total: 0, good: 0, share: 0, direction: 1, lane: "",
    now: AT_FIRST[kind] ?? "", said: [] };
}

/** What it is at, or waits for. */
export function nowWords(work) {
  if (!work.asks) return work.now;
  return work.begun ? ASKS : ASKS_FIRST;
}

/** Where a lane lies, in the words of the terminal. */
export function laneWords(string) {
  if (string === null) return "along the rail";
  if (Number.isInteger(string)) return `under string ${string}`;
  return `between strings ${Math.floor(string)} and ${Math.ceil(string)}`;
}

/** The work after a step of it. travel_mm: the carriage's, from and to. */
export function after(work, step, told, travel_mm) {
  return { ...work, ...(STEPS[step]?.(work, told, travel_mm) ?? {}) };
}

/** How much of the whole is done, 0 to 1. */
export function shareDone(work) {
  return work.total === 0 ? 0 : Math.min(1, (work.good + work.share) / work.total);
}

/** Its title. */
export function workTitle(work) {
  const pass = Math.min(work.good + 1, work.total);
  return workName(work.kind) + (work.total ? `: pass ${pass} of ${work.total}` : "");
}

/** What is to be told once it is over, or null: what shows its result needs no words, nor do
 * looks that went well. begun: whether a person let it begin. */
export function endWords({ kind, begun }, state, why) {
  const name = workName(kind);
  if (state === "failed") return `${name} failed: ${ended(why)}`;
  if (state === "stopped" && !begun) return `${name}: not begun.`;
  if (state === "stopped") return `${name} ${ended(why || "stopped")}`;
  return TELLS_ITS_END.includes(kind) ? `${name} done.` : null;
}

const ended = (line) => (line.endsWith(".") ? line : `${line}.`);

const STEPS = {
  begin: (_, { total_passes: total }) => ({ total, now: "homing" }),
  pass_started: (_, { lane: number, string, direction, attempt }) => {
    const way = direction > 0 ? "away from the nut" : "towards the nut";
    const again = attempt > 1 ? `, attempt ${attempt}` : "";
    const lane = `Lane ${number}, ${laneWords(string)}, ${way}${again}`;
    return { lane, direction, share: 0, now: `${lane}: to the start` };
  },
  samples: (work, { count, x_mm: x }, travel) => ({
    share: passShare(x, work.direction, travel),
    now: `${work.lane}: ${count.toLocaleString("en")} samples`,
  }),
  pass_ended: (work, { verdict }) => ({
    share: 0, good: work.good + (verdict.good ? 1 : 0), said: added(work.said, verdict.why),
  }),
  pace: (work, { words }) => ({ now: `${work.lane}: ${words}` }),
  notice: (work, { text }) => ({ said: noticed(work.said, text) }),
  done: () => ({ share: 0, now: "putting the scan file together" }),
};

function passShare(x, direction, [from, to]) {
  if (!(to > from) || typeof x !== "number") return 0;
  const share = Math.min(1, Math.max(0, (x - from) / (to - from)));
  return direction > 0 ? share : 1 - share;
}

/** Whether a line says that something is over. */
export const isOver = (line) => line.startsWith(OVER);

/** What is over takes the place of what was said when it began: the same, and the cure. */
function noticed(said, text) {
  const began = isOver(text) ? text.slice(OVER.length) : null;
  return added(said.filter((line) => began === null || !line.startsWith(began)), [text]);
}

/** Newest first, each once. */
function added(said, lines) {
  const fresh = [...lines].reverse();
  return [...fresh, ...said.filter((line) => !fresh.includes(line))].slice(0, MOST_SAID);
}
