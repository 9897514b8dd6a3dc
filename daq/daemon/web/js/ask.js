// Asking the daemon: JSON there, JSON back, and every fault as a line a person can read.

/** What went wrong. kind: of the daemon, or "Away" where nothing answers. status: 0 then. */
export class Fault extends Error {
  constructor(kind, message, status) {
    super(message);
    this.kind = kind;
    this.status = status;
  }
}

const AWAY = "The daemon does not answer. Is `neckform serve` still running? " +
  "This page comes back by itself.";
const TOKEN = "The daemon wants its token: reload this page and give the token as the password.";

/** GET without a body, POST with one. Throws Fault. */
export async function ask(path, body, signal) {
  let answer;
  try {
    answer = await fetch(path, { ...request(body), signal });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Fault("Away", AWAY, 0);
  }
  return told(answer);
}

function request(body) {
  if (body === undefined) return {};
  const headers = { "Content-Type": "application/json" };
  return { method: "POST", body: JSON.stringify(body), headers };
}

/** What an answer says. Throws Fault where it is none. Health is told with 503 where unfit. */
export async function told(answer) {
  let said = null;
  try {
    said = await answer.json();
  } catch {
    if (answer.ok) throw new Fault("Away", AWAY, 0);
  }
  if (answer.ok || (said !== null && said.kind === undefined)) return said;
  if (answer.status === 401) throw new Fault("InputError", TOKEN, 401);
  const words = said?.message ?? `the daemon answered ${answer.status} and no more`;
  throw new Fault(said?.kind ?? "RigError", words, answer.status);
}
