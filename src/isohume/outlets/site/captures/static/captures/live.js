// The live page: one card an instrument, filled from the stream of runs. What is filled in has its place from the start,
// so that nothing moves under a finger; a card is drawn again only where its run changed.
import { minutesSince, inWords } from "../look/clocks.js";
import { startActs } from "./acts.js";
import { startChoosing } from "./choosing.js";
import { drawLine } from "./line.js";
import { Notices } from "./notices.js";
import { follow } from "./stream.js";
import { drawTrace, traceRows } from "./trace.js";
import { answerOf, forecastOf, leftOf, stateOf, temperaturesOf, warmOf, whichOf } from "./words.js";

const MOST_POINTS = 20000;
const TICK_MS = 20000;
const bays = document.querySelector("[data-runs]");
const runs = new Map();
const points = new Map();
let states = [];

export function mark(shape) {
  return document.querySelector(`[data-mark="${shape}"] svg`).cloneNode(true);
}

export function state(words, shape) {
  const whole = document.createElement("span");
  const said = document.createElement("span");
  said.textContent = words;
  if (!shape) return said;
  whole.className = `state state-${shape}`;
  whole.append(mark(shape), said);
  return whole;
}

function put(card, name, ...content) {
  const place = card.querySelector(`[data-${name}]`);
  const wanted = place.cloneNode(false);
  wanted.append(...content.filter((one) => one !== ""));
  if (!wanted.isEqualNode(place)) place.replaceChildren(...wanted.childNodes);
}

function putRows(figure, rows) {
  const body = figure.querySelector("tbody");
  body.replaceChildren(...rows.map((row) => {
    const line = document.createElement("tr");
    line.append(...row.map((cell, n) => {
      const made = document.createElement(n ? "td" : "th");
      if (!n) made.scope = "row";
      if (n === 1) made.className = "number";
      made.textContent = cell;
      return made;
    }));
    return line;
  }));
}

function paragraph(words, className = "") {
  const made = document.createElement("p");
  made.textContent = words;
  if (className) made.className = className;
  return made;
}

// The run that goes on, else the one that ended last; the others are counted.
function runsOf(instrument) {
  return [...runs.values()].filter((run) => run.instrument_id === instrument)
    .sort((a, b) => Number(a.ended) - Number(b.ended) || Date.parse(b.started_at) - Date.parse(a.started_at) || b.pk - a.pk);
}

function clockOf(run) {
  if (!run.clock) return run.assigned === "bottle" ? "a bottle has no clock" : "not known";
  const minutes = minutesSince(run.clock.since);
  const over = run.clock.limit_min !== null && minutes > run.clock.limit_min;
  const words = `${run.clock.cover} for ${inWords(minutes)}${run.clock.limit_min === null ? "" : ` of ${inWords(run.clock.limit_min)}`}`;
  return state(over ? `${words}, longer than the method allows` : words, over ? "due" : "");
}

function fillDiagnosis(card, run) {
  const place = card.querySelector("[data-words]");
  const said = JSON.stringify([run.diagnosis, run.words, run.action, run.wrong]);
  if (place.dataset.told === said) return;
  place.dataset.told = said;
  const content = [];
  if (run.action && run.diagnosis !== "still moving") content.push(paragraph(run.action, run.wrong ? "bay-action" : ""));
  if (run.words.length) {
    const list = document.createElement("ul");
    list.append(...run.words.map((words) => Object.assign(document.createElement("li"), { textContent: words })));
    content.push(list);
  }
  place.replaceChildren(...content);
}

function fillActs(card, run) {
  const accept = card.querySelector("[data-accept]");
  const cut = card.querySelector("[data-void]");
  const button = card.querySelector("[data-accept-button]");
  const may = run !== undefined && run.ended && run.assigned === "cup";
  button.disabled = !may;
  const checks = run !== undefined && run.ended && run.assigned === "bottle";
  button.hidden = checks;
  card.querySelector("[data-check-link]").hidden = !checks;
  button.className = `button ${may && run.settled && !run.wrong ? "do" : "plain"}`;
  card.querySelector("[data-accept-word]").textContent = run && run.ended && !run.settled ? "Accept as estimate" : "Accept reading";
  card.querySelector("[data-void-open]").disabled = run === undefined;
  for (const form of [accept, cut]) if (run) form.action = form.dataset.base.replace("/0/", `/${run.pk}/`);
  card.dataset.run = run ? String(run.pk) : "";
  const link = card.querySelector("[data-run-link]");
  link.hidden = run === undefined;
  if (run) link.href = link.dataset.base.replace("/0/", `/${run.pk}/`);
  card.querySelector("[data-start-word]").textContent = run && run.assigned === "" ? "Say what it reads" : "Start run";
}

function fillRun(card, run, others) {
  const seen = points.get(run.pk) ?? [];
  card.dataset.used = "yes";
  put(card, "of", run.of || "Nobody has said what it reads");
  put(card, "which", whichOf(run));
  put(card, "state", state(...stateOf(run)));
  put(card, "left", leftOf(run));
  put(card, "forecast", forecastOf(run));
  fillDiagnosis(card, run);
  const early = card.querySelector("[data-early]");
  early.hidden = !run.early;
  early.textContent = run.early ?? "";
  put(card, "temperatures", state(...temperaturesOf(run)));
  put(card, "cup", clockOf(run));
  put(card, "criterion", run.criterion);
  put(card, "others", others ? `${others} more wait${others === 1 ? "s" : ""} for a decision` : "");
  card.querySelector("[data-others-row]").hidden = !others;
  card.querySelector("[data-ready]").hidden = true;
  card.querySelector("[data-facts]").classList.remove("bay-none");
  const trace = card.querySelector("[data-trace-figure]");
  trace.hidden = false;
  const line = card.querySelector("[data-line-here]");
  if (run.forecast) drawLine(line, run);
  else line.replaceChildren();
  if (seen.length) {
    drawTrace(trace.querySelector(".drawing"), run, seen);
    putRows(trace, traceRows(run, seen));
  }
}

function fillEmpty(card) {
  put(card, "of", "No run goes on");
  put(card, "state", state("no run", "unknown"));
  for (const name of ["left", "forecast", "criterion", "which"]) put(card, name, "");
  put(card, "words", "");
  card.querySelector("[data-words]").dataset.told = "";
  card.querySelector("[data-early]").hidden = true;
  put(card, "temperatures", "not taken");
  put(card, "cup", "not known");
  card.querySelector("[data-others-row]").hidden = true;
  card.querySelector("[data-ready]").hidden = false;
  card.querySelector("[data-line-here]").replaceChildren();
  card.querySelector("[data-facts]").classList.add("bay-none");
  const trace = card.querySelector("[data-trace-figure]");
  trace.hidden = true;
  trace.querySelector(".drawing").replaceChildren();
  putRows(trace, []);
}

function fillState(card, said) {
  for (const name of ["next", "then"]) put(card, name, said?.next || "nobody has said");
  if (!said?.at) return;
  put(card, "said", said.state || "nothing of itself");
  const block = said.block_temperature_c;
  if (!block || !card.dataset.methodC) return;
  const off = Math.abs(Number(block) - Number(card.dataset.methodC)) > Number(card.dataset.toleranceC) + 1e-9;
  const asked = `the method's ${card.dataset.methodC} °C ± ${card.dataset.toleranceC} °C`;
  put(card, "block", state(`block ${block} °C, ${off ? "outside" : "within"} ${asked}`, off ? "hold" : "pass"));
}

// What passes by itself: a page stays open for a whole shift.
function tick() {
  for (const card of bays.querySelectorAll("[data-bay]")) {
    const { until, warmSince, warmMin } = card.dataset;
    if (until && Date.now() > Date.parse(until)) put(card, "standing", state("may not measure", "fail"), " its check has run out");
    if (warmSince) put(card, "warm", state(...warmOf(warmSince, Number(warmMin))));
    const run = runs.get(Number(card.dataset.run));
    if (run) put(card, "cup", clockOf(run));
  }
}

function show(changed) {
  const shown = [];
  for (const card of bays.querySelectorAll("[data-bay]")) {
    const key = Number(card.dataset.bay);
    const mine = runsOf(key);
    if (mine[0]) shown.push(mine[0]);
    const before = card.dataset.run ?? "";
    if (mine[0] ? changed.has(mine[0].pk) || before !== String(mine[0].pk) : before !== "" || !("run" in card.dataset)) {
      if (before !== String(mine[0]?.pk ?? "")) card.querySelector("[data-accept-more]").hidden = true;
      if (mine[0]) fillRun(card, mine[0], mine.length - 1);
      else fillEmpty(card);
    }
    fillActs(card, mine[0]);
    fillState(card, states.find((one) => one.instrument === key));
  }
  const [words, shape] = answerOf(shown);
  const place = document.querySelector("[data-answer]");
  if (place.dataset.told !== words) {
    place.dataset.told = words;
    place.className = `says state-${shape}`;
    place.replaceChildren(mark(shape), Object.assign(document.createElement("span"), { textContent: words }));
  }
}

function takePoints(run, whole) {
  const before = whole ? [] : (points.get(run.pk) ?? []);
  const since = before.length ? before.at(-1)[0] : -Infinity;
  const all = [...before, ...run.points.filter(([time]) => time > since)];
  points.set(run.pk, all.length > MOST_POINTS ? all.filter((_, n) => n % 2 === 0 || n === all.length - 1) : all);
}

if (bays) {
  const notices = new Notices(bays.dataset);
  startChoosing(bays, runs);
  startActs(bays);
  for (const card of bays.querySelectorAll("[data-bay]")) fillActs(card, undefined);
  setInterval(tick, TICK_MS);
  if (bays.dataset.runs) {
    follow(bays.dataset.runs, (event) => {
      const wanted = new Set(event.all);
      for (const key of [...runs.keys()]) if (!wanted.has(key)) [runs, points].forEach((kept) => kept.delete(key));
      for (const run of event.runs) {
        takePoints(run, event.whole);
        runs.set(run.pk, { ...run, points: undefined });
      }
      states = event.states;
      show(new Set(event.runs.map((run) => run.pk)));
      notices.tell([...runs.values()]);
    });
  }
}
