// The rig, live: what the event stream tells, drawn. No part of it moves the rig.

import { ask } from "./ask.js";
import { hear, listen, watchConnection } from "./stream.js";
import { addView, followAddress } from "./views.js";

const SPAN_MS = 20000;
const HEALTH_EACH_MS = 5000;
const LEAST_SPAN_MM = 0.02;
const LOST_OVER_MS = 60000;
const MOST_LOST = 0.03;  // more, and a pass is not kept
const WORK = { record: "Recording", check: "Checking the rig", over_pads: "Driving over the pads",
  look: "Looking at the sensor" };
const STATE = { connecting: "looking for the rig", watching: "ready, watching", working: "at work",
  gone: "not there", ended: "the daemon has ended" };

const at = (id) => document.getElementById(id);
const say = (id, text) => { at(id).textContent = text; };
const fixed = (value, digits) => (value === null ? "–" : value.toFixed(digits));

let rig = null;
let live = null;
let trace = [];          // {t, low, high}: one bin each, oldest first
let profile = null;      // {from_mm, bin_mm, low, high}
let work = null;         // {id, kind, total, good, now}
let question = null;
let waitsToDraw = false;
let counts = [];         // {at_ms, samples, lost} of the last minute
let lags = [];           // of the last messages: from the oldest sample's arrival to drawn, ms

function draw() {
  if (!waitsToDraw) {
    waitsToDraw = true;
    requestAnimationFrame(drawNow);
  }
}

function drawNow() {
  waitsToDraw = false;
  if (live === null) return;
  say("reading", fixed(live.z_mm, 4));
  say("position", fixed(live.x_mm, 2));
  say("rate", live.rate_hz < 100 ? live.rate_hz.toFixed(1) : live.rate_hz.toFixed(0));
  showLost();
  drawTrace();
  drawProfile();
  lags.push(Date.now() - live.from_ms);
  if (lags.length > 250) lags = lags.slice(-250);
  const sorted = [...lags].sort((a, b) => a - b);
  const middle = sorted[Math.floor(sorted.length / 2)];
  say("foot", `On this page ${middle.toFixed(0)} ms after it was measured, ` +
    `${sorted[sorted.length - 1].toFixed(0)} ms at most of late.`);
}

/** Of the last minute: what was lost since a daemon began says nothing after weeks. */
function showLost() {
  counts = counts.filter((one) => live.at_ms - one.at_ms < LOST_OVER_MS && one.samples <= live.samples);
  counts.push({ at_ms: live.at_ms, samples: live.samples, lost: live.lost });
  const lost = live.lost - counts[0].lost;
  const share = lost / Math.max(1, live.samples - counts[0].samples + lost);
  say("lost", (100 * share).toFixed(share < 0.1 ? 2 : 0));
  at("lost-box").classList.toggle("bad", share > MOST_LOST);
}

function sheet(id) {
  const canvas = at(id);
  const ratio = window.devicePixelRatio || 1;
  const wide = Math.round(canvas.clientWidth * ratio);
  const high = Math.round(canvas.clientHeight * ratio);
  if (canvas.width !== wide || canvas.height !== high) {
    canvas.width = wide;
    canvas.height = high;
  }
  const pen = canvas.getContext("2d");
  pen.clearRect(0, 0, wide, high);
  return { pen, wide, high, ratio };
}

const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name);

// Columns of least and greatest, one a pixel, so that a spike of one sample is still seen.
function columns(wide, spots) {
  const low = new Array(wide).fill(null);
  const high = new Array(wide).fill(null);
  for (const { at: x, low: l, high: h } of spots) {
    const column = Math.floor(x);
    if (l === null || column < 0 || column >= wide) continue;
    low[column] = low[column] === null ? l : Math.min(low[column], l);
    high[column] = high[column] === null ? h : Math.max(high[column], h);
  }
  return { low, high };
}

function strokeColumns({ pen, wide, high: tall, ratio }, found, spanId) {
  const seen = found.low.filter((one) => one !== null);
  if (seen.length === 0) {
    say(spanId, "nothing read");
    return;
  }
  let least = Math.min(...seen);
  let most = Math.max(...found.high.filter((one) => one !== null));
  say(spanId, `${least.toFixed(3)} to ${most.toFixed(3)} mm`);
  const spare = Math.max(LEAST_SPAN_MM - (most - least), 0.1 * (most - least)) / 2;
  least -= spare;
  most += spare;
  const y = (value) => tall - ((value - least) / (most - least)) * tall;
  pen.strokeStyle = colour("--trace");
  pen.lineWidth = 1.5 * ratio;
  pen.lineJoin = "round";
  pen.beginPath();
  let before = null;
  for (let column = 0; column < wide; column++) {
    if (found.low[column] === null) continue;
    const middle = y((found.low[column] + found.high[column]) / 2);
    if (before === null || column - before > 40 * ratio) pen.moveTo(column, middle);
    else pen.lineTo(column, middle);
    pen.moveTo(column, y(found.high[column]) - 0.5);
    pen.lineTo(column, y(found.low[column]) + 0.5);
    pen.moveTo(column, middle);
    before = column;
  }
  pen.stroke();
}

function drawTrace() {
  const on = sheet("trace");
  const from = live.at_ms - SPAN_MS;
  const spots = trace.map((one) => ({ at: ((one.t - from) / SPAN_MS) * on.wide, ...pair(one) }));
  strokeColumns(on, columns(on.wide, spots), "trace-span");
}

const pair = ({ low, high }) => ({ low, high });

function drawProfile() {
  if (profile === null || rig === null) return;
  const on = sheet("profile");
  const [from, to] = rig.travel_mm;
  const place = (x_mm) => ((x_mm - from) / (to - from)) * on.wide;
  on.pen.fillStyle = colour("--pad");
  for (const [left, right] of rig.pads_mm) {
    on.pen.fillRect(place(left), 0, place(right) - place(left), on.high);
  }
  const spots = profile.low.map((low, n) => ({
    at: place(profile.from_mm + (n + 0.5) * profile.bin_mm), low, high: profile.high[n] }));
  strokeColumns(on, columns(on.wide, spots), "profile-span");
  if (live.x_mm !== null) {
    on.pen.fillStyle = colour("--bad");
    on.pen.fillRect(place(live.x_mm) - on.ratio, 0, 2 * on.ratio, on.high);
  }
}

function hearLive(message) {
  const count = message.low.length;
  const each = (message.at_ms - message.from_ms) / Math.max(count, 1);
  for (let n = 0; n < count; n++) {
    trace.push({ t: message.from_ms + (n + 0.5) * each, low: message.low[n], high: message.high[n] });
  }
  const first = trace.findIndex((one) => one.t > message.at_ms - SPAN_MS);
  if (first > 500) trace = trace.slice(first);
  if (message.profile !== null) {
    message.profile.low.forEach((low, n) => {
      profile.low[message.profile.first + n] = low;
      profile.high[message.profile.first + n] = message.profile.high[n];
    });
  }
  live = message;
  draw();
}

function showState(state, why) {
  const bad = state === "gone" || state === "ended";
  say("state", bad && why ? `${STATE[state]}: ${why}` : STATE[state]);
  at("state").classList.toggle("bad", bad);
}

function showWork() {
  at("work").hidden = work === null;
  if (work === null) return;
  const part = work.total ? `: pass ${Math.min(work.good + 1, work.total)} of ${work.total}` : "";
  say("work-title", (WORK[work.kind] || work.kind) + part);
  at("work-bar").style.width = work.total ? `${(100 * work.good) / work.total}%` : "0";
  say("work-now", work.now);
}

function note(text) {
  const line = document.createElement("li");
  line.textContent = text;
  at("work-said").prepend(line);
  while (at("work-said").children.length > 6) at("work-said").lastChild.remove();
}

function begin(id, kind) {
  work = { id, kind, total: 0, good: 0, now: "" };
  at("work-said").replaceChildren();
  showWork();
}

/** Where a lane lies, in the words of the terminal. */
function lane(string) {
  if (string === null) return "along the rail";
  if (Number.isInteger(string)) return `under string ${string}`;
  return `between strings ${Math.floor(string)} and ${Math.ceil(string)}`;
}

const STEPS = {
  begin: (step) => { work.total = step.total_passes; work.now = "homing"; },
  pass_started: (step) => {
    const where = lane(step.string);
    const again = step.attempt > 1 ? `, attempt ${step.attempt}` : "";
    const way = step.direction > 0 ? "away from the nut" : "towards the nut";
    work.lane = `Lane ${step.lane}, ${where}, ${way}${again}`;
    work.now = `${work.lane}: to the start`;
  },
  samples: (step) => { work.now = `${work.lane}: ${step.count.toLocaleString("en")} samples`; },
  pass_ended: ({ verdict }) => {
    if (verdict.good) work.good += 1;
    verdict.why.forEach(note);
  },
  pace: (step) => { work.now = `${work.lane}: ${step.words}`; },
  notice: (step) => note(step.text),
  done: () => { work.now = "putting the scan file together"; },
};

function hearProgress(message) {
  if (work === null || work.id !== message.work) return;
  STEPS[message.step]?.(message.with);
  showWork();
}

function showQuestion(asked) {
  question = asked;
  at("question").hidden = asked === null;
  if (asked !== null) say("question-text", asked.text);
}

async function answer(word) {
  const asked = question;
  if (asked === null) return;
  showQuestion(null);
  await ask(`/v1/questions/${asked.id}`, { answer: word });
}

function row(list, what, text, bad) {
  const name = document.createElement("dt");
  const value = document.createElement("dd");
  name.textContent = what;
  value.textContent = text;
  value.classList.toggle("bad", Boolean(bad));
  list.append(name, value);
}

const megabytes = (bytes) => `${Math.round(bytes / 1e6).toLocaleString("en")} MB`;

async function showHealth() {
  const health = await ask("/v1/health");
  const list = document.createDocumentFragment();
  row(list, "Fit", health.fit ? "yes" : health.faults.join("; "), !health.fit);
  for (const fault of health.stream_faults) row(list, "Now", fault, true);
  for (const [link, state] of Object.entries(health.links)) row(list, `Link ${link}`, state);
  row(list, "Gaps, lost, damaged", `${health.gaps}, ${health.lost}, ${health.bad_frames}`);
  row(list, "Waiting to be read", `${health.queue_bytes} bytes`);
  row(list, "Disk free", `${megabytes(health.disk_free_bytes)}; a scan needs ` +
    megabytes(health.disk_needed_bytes));
  const aged = health.calibrations.map((one) => `${one.kind} ` +
    (one.age_days === null ? one.state : `${one.age_days} days old`));
  row(list, "Calibrations", aged.join(", "),
    health.calibrations.some((one) => one.state === "old" || one.state === "damaged"));
  if (health.last_fault) row(list, "Last fault", `${health.last_fault.at}: ${health.last_fault.why}`);
  row(list, "Daemon", `up ${Math.round(health.up_s / 60)} min, ${megabytes(health.memory_bytes)} in memory`);
  at("health").replaceChildren(list);
}

async function catchUp() {
  const [about, state, drawn] = await Promise.all(
    [ask("/v1/rig"), ask("/v1/state"), ask("/v1/profile")]);
  rig = about;
  profile = drawn;
  say("name", rig.name);
  document.title = `${rig.name} – neckform`;
  showState(state.state, state.why);
  if (state.work === null) work = null;
  else if (work === null || work.id !== state.work.id) begin(state.work.id, state.work.kind);
  showQuestion(state.work === null ? null : state.work.question);
  showWork();
  await showHealth();
  return state.work === null ? state.event : state.work.event;
}

hear("live", hearLive);
hear("rig", (told) => { showState(told.state, told.why); showHealth().catch(() => {}); });
for (const kind of ["fault", "fault_over"]) hear(kind, () => showHealth().catch(() => {}));
hear("work_began", (told) => begin(told.work, told.kind));
hear("progress", hearProgress);
hear("question", (told) => showQuestion(told));
hear("answered", () => showQuestion(null));
hear("work_ended", () => {
  work = null;
  showQuestion(null);
  showWork();
});
hear("profile_cleared", () => { profile.low.fill(null); profile.high.fill(null); });

at("question-done").addEventListener("click", () => answer("done"));
at("question-stop").addEventListener("click", () => answer("stop"));
at("work-stop").addEventListener("click", () => work && ask(`/v1/work/${work.id}/cancel`, {}));
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
addEventListener("resize", draw);
setInterval(() => showHealth().catch(() => {}), HEALTH_EACH_MS);

watchConnection(({ connected, lostAt, why }) => {
  at("connection").hidden = connected;
  say("connection", connected ? "" : `Away since ${lostAt.toLocaleTimeString()}. ${why}`);
});
addView("rig", {
  show: () => { at("rig-view").hidden = false; draw(); },
  hide: () => { at("rig-view").hidden = true; },
});
document.addEventListener("DOMContentLoaded", followAddress);
listen(catchUp);
