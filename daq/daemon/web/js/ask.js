// Asking the daemon: JSON there, JSON back, and every fault as a line a person can read.

/** What went wrong. kind: of the daemon, or "Away" where nothing answers; status: 0 then. */
export class Fault extends Error {
  constructor(kind, message, status) {
    super(message);
    this.kind = kind;
    this.status = status;
  }
}

const SLOW_MS = 8000;
const READS_SCANS = /^\/v1\/jobs\//;  // may take that long by itself on a busy machine
let late = 0;  // how many answers are
let watcher = () => {};

/** fn gets whether an answer is late, whenever that changes. */
export function watchLate(fn) {
  watcher = fn;
}

const AWAY = "The daemon does not answer: see whether `neckform serve` still runs. " +
  "This page comes back by itself.";
const TOKEN = "The daemon wants its token: reload this page and give the token as the password.";

/** GET without a body, POST with one. Throws Fault. */
export async function ask(path, body) {
  const answer = await opened(path, request(body));
  try {
    return await answer.json();
  } catch {
    throw new Fault("Away", AWAY, 0);  // it ended in the middle of its answer
  }
}

/** The answer before it is read to its end. Throws Fault where it is a refusal. */
export async function opened(path, request = {}) {
  let answer;
  const over = READS_SCANS.test(path) ? () => {} : waitsFor();
  try {
    answer = await fetch(path, request);
  } catch {
    throw new Fault("Away", AWAY, 0);
  } finally {
    over();
  }
  if (answer.ok) return answer;
  const { kind, message } = await said(answer);
  if (message === undefined) return answer;  // health of an unfit rig comes with 503
  throw new Fault(kind, answer.status === 401 ? TOKEN : message, answer.status);
}

/** An answer is waited for; what is given is called once it is there. */
function waitsFor() {
  let by = 0;
  const timer = setTimeout(() => { by = 1; watcher((late += by) > 0); }, SLOW_MS);
  return () => {
    clearTimeout(timer);
    if (by > 0) watcher((late -= by) > 0);
  };
}

function request(body) {
  if (body === undefined) return {};
  const headers = { "Content-Type": "application/json" };
  return { method: "POST", body: JSON.stringify(body), headers };
}

/** What a refusal says; its answer can still be read. */
async function said(answer) {
  try {
    return await answer.clone().json();
  } catch {
    return { kind: "RigError", message: `The daemon answered ${answer.status} and no more.` };
  }
}
