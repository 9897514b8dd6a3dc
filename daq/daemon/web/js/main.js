// The page: its frame, the rig's view, and the one stream that tells them what happens.

import { fillBelow } from "./above.js";
import { ask } from "./ask.js";
import { checkProgram, showConnection } from "./connection.js";
import { questionOver, showQuestion, takeAnswers } from "./question.js";
import { showAskedRate } from "./rig/numbers.js";
import { setRail } from "./rig/profile.js";
import { setUpRig } from "./rig/view.js";
import { showName, showState } from "./rigstate.js";
import { hear, listen, whenConnected } from "./stream.js";
import { tell } from "./told.js";
import { followAddress, routeOf } from "./views.js";
import {
  noWork, progressed, setTravel, takeStop, workAnswered, workAsks, workBegan, workEnded,
} from "./work.js";

const NO_JOBS = "The jobs could not be loaded: reload the page.";
const NOT_READY = "What makes the rig ready could not be loaded: reload the page.";

let simulated = false;

/** How things are; the number of the event from which the stream is to tell: of the beginning of
 * the work under way, so that a page opened in its middle knows the rest. */
async function catchUp() {
  const [rig, state] = await Promise.all([ask("/v1/rig"), ask("/v1/state")]);
  checkProgram(rig.program);
  showName(rig.name);
  showAskedRate(rig.rate_hz);
  setTravel(rig.travel_mm);
  setRail(rig);
  showState(state.state);
  simulated = rig.simulated;
  const { work } = state;
  noWork();  // its progress is told again from its beginning
  if (work !== null) {
    const { id, kind, began } = work;
    if (work.state !== "waiting") workBegan(id, kind, new Date(began));
    if (work.question !== null) workAsks(id, kind, new Date(began));
  }
  showQuestion(work?.question ?? null);
  return work === null ? state.event : work.event;
}

function hearFrame() {
  hear("rig", ({ state }) => showState(state));
  hear("work_began", ({ work, kind }) => workBegan(work, kind, new Date()));
  hear("progress", progressed);
  hear("work_ended", workEnded);
  hear("question", ({ work, kind, id, text }) => {
    workAsks(work, kind, new Date());
    showQuestion({ id, text });
  });
  hear("answered", ({ work, id }) => {
    workAnswered(work);
    questionOver(id);
  });
}

/** The job's view, with its many modules. */
const jobs = () => import("./job/main.js").catch(() => tell(NO_JOBS, { about: "jobs", bad: true }));

/** What makes the rig ready: below the pictures, and later than they. */
async function ready() {
  try {
    const { setUpReady } = await import("./rig/ready.js");
    setUpReady();
    if (!simulated) return;
    const { showHands } = await import("./rig/hands.js");
    showHands();
  } catch {
    tell(NOT_READY, { about: "ready", bad: true });
  }
}

async function main() {
  showConnection();
  takeAnswers();
  takeStop();
  hearFrame();
  setUpRig();
  fillBelow();
  listen(catchUp);
  // what is looked at first comes first
  whenConnected(ready);
  const rigFirst = routeOf(location.hash).name === "rig";
  if (!rigFirst) await jobs();
  followAddress();
  if (rigFirst) whenConnected(jobs);
}

main();
