// A work's progress as words: what it is at, how far it is, what it remarked.

const NAMES = {
  record: "Recording", scan: "Scan", check: "Check of the rig", over_pads: "Drive over the pads",
  look: "Look at the sensor",
};
const MOST_SAID = 4;
const OVER = "over: ";

/** What a kind of work is called. */
export const workName = (kind) => NAMES[kind] ?? kind;

/** A work that begins. */
export function begunWork(id, kind) {
  return { id, kind, total: 0, good: 0, share: 0, direction: 1, lane: "", now: "", said: [] };
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

/** What is to be told once it is over, or null: looks and checks that went well need no words. */
export function endWords(kind, state, why) {
  const name = workName(kind);
  if (state === "failed") return `${name} failed: ${why}`;
  const records = kind === "record" || kind === "scan";
  const kept = records && why !== "";  // stopped before it began, it has nothing to tell
  if (state === "stopped") return `${name} stopped.${kept ? " What was recorded is kept." : ""}`;
  return records ? `${name} done.` : null;
}

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

/** What is over takes the place of what was said when it began. */
function noticed(said, text) {
  const began = isOver(text) ? text.slice(OVER.length) : null;
  return added(said.filter((line) => line !== began), [text]);
}

/** Newest first, each once. */
function added(said, lines) {
  const fresh = [...lines].reverse();
  return [...fresh, ...said.filter((line) => !fresh.includes(line))].slice(0, MOST_SAID);
}
