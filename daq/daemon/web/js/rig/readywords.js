// What makes a rig ready, and what came of it, as a person reads it.

/** Works whose result the rig's view shows. */
export const READY = ["check rig", "calibrate rail", "calibrate lag"];

const STRAIGHTEDGE = [0, 100, 0.1];  // µm

/** How a result stands: {tone, verdict}; the verdict's sign goes before its words. */
export function verdictOf(kind, { document }) {
  if (kind !== "check rig") return { tone: "good", verdict: "● Measured and kept" };
  if (!document.fit) return { tone: "bad", verdict: "▲ Not fit to scan" };
  if (document.redo.length === 0) return { tone: "good", verdict: "● Fit to scan" };
  return { tone: "some", verdict: "◐ Fit to scan, with something to do again" };
}

/** What is asked of the daemon for a straightedge's own error as it was typed: {asked}, or {fault}.
 * read: reads a number by its range and unit. */
export function railAsked(typed, read) {
  if (typed.trim() === "") return { asked: { kind: "calibrate rail" } };
  const { value, fault } = read(typed, STRAIGHTEDGE, "µm");
  if (fault !== undefined) return { fault };
  return { asked: { kind: "calibrate rail", straightedge_um: value } };
}

/** The newest of the works that shows what it came to, or nothing. works: oldest first. */
export const newestShown = (works) => works.findLast(
  ({ kind, state }) => READY.includes(kind) && (state === "done" || state === "failed"));
