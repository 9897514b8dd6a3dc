// The health document as what a person reads.

const WRONG = { old: "is old", damaged: "is damaged", missing: "is missing" };
const GONE = "Look at the rig's cable and its power. It is looked for every few seconds, and this " +
  "page shows it as soon as it is back.";

/** What is wrong now, a line each. */
export const wrongNow = (health) => [...new Set([...health.faults, ...health.stream_faults])];

/** What a person can do about it, a line each. */
export const toDo = (health) => (health.state === "gone" ? [GONE] : []);

/** [what, words, bad] of everything that is looked at. */
export function healthRows(health) {
  return [
    ["Fit for a scan", health.fit ? "yes" : "no", !health.fit],
    ...Object.entries(health.links).map(([link, state]) => [
      `Link ${link}`, state, state === "not there"]),
    ["Gaps, lost, damaged", `${health.gaps}, ${health.lost}, ${health.bad_frames}`, false],
    ["Waiting to be read", bytes(health.queue_bytes), false],
    ["Disk", `${bytes(health.disk_free_bytes)} free; a scan needs ${bytes(health.disk_needed_bytes)}`,
      health.disk_free_bytes !== null && health.disk_free_bytes < health.disk_needed_bytes],
    ["Calibrations", calibrations(health.calibrations), health.calibrations.some(isBad)],
    ...(health.last_fault ? [["Last fault", lastFault(health.last_fault), false]] : []),
    ["Daemon", `up ${upTime(health.up_s)}, ${bytes(health.memory_bytes)} in memory, ` +
      `${health.clients} listening`, false],
  ];
}

const isBad = ({ state }) => state === "old" || state === "damaged";

/** Those that there are with their age, then those that are missing. */
function calibrations(all) {
  const made = all.filter((one) => one.state !== "missing").map((one) => {
    const age = one.age_days === null ? "" : ` ${one.age_days} days`;
    return `${one.kind}${age}${one.state === "ok" ? "" : ` ${WRONG[one.state]}`}`;
  });
  const missing = all.filter((one) => one.state === "missing").map((one) => one.kind);
  if (missing.length > 0) made.push(`none yet of ${missing.join(", ")}`);
  return made.join("; ");
}

/** How old a calibration is. one: of the health document, or nothing. */
export function ageWords(one) {
  if (one === undefined || one.state === "missing") return "Not measured yet.";
  if (one.state === "damaged") return "▲ What was measured is damaged: measure it again.";
  const age = one.age_days === 0 ? "today"
    : one.age_days === 1 ? "yesterday" : `${one.age_days} days ago`;
  return one.state === "old" ? `▲ Measured ${age}: measure it again.` : `Measured ${age}.`;
}

function lastFault({ at, why }) {
  const when = new Date(at);
  return `${when.toLocaleDateString("en-CA")} ${when.toLocaleTimeString("en-GB")}: ${why}`;
}

/** A count of bytes. null: the system does not say. */
export function bytes(count) {
  if (count === null) return "unknown";
  if (count < 1e4) return `${count} bytes`;
  if (count < 1e7) return `${Math.round(count / 1e3).toLocaleString("en")} kB`;
  return count < 1e10 ? `${Math.round(count / 1e6).toLocaleString("en")} MB`
    : `${Math.round(count / 1e9).toLocaleString("en")} GB`;
}

function upTime(seconds) {
  const minutes = Math.round(seconds / 60);
  if (minutes < 120) return `${minutes} min`;
  return minutes < 2880 ? `${Math.round(minutes / 60)} h` : `${Math.round(minutes / 1440)} days`;
}
