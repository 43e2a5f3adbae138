// A grid whose rows are saved one by one: Enter on the last field of a row sends the row alone, the cursor goes on at
// once, and the server's answer takes the row's place. What was typed stays where it is until the server has answered.
import { keptHere } from "../outbox/line.js";
import { fieldsOf, goTo, put, say, startOf } from "../look/fields.js";

const CODE = /^iso:p:(\d{1,15})$/i;
const table = document.querySelector("table[data-keyed]");

const waiting = (row) => row.matches("[data-row]:not([data-saved])") && !row.hasAttribute("aria-busy");
const formOf = (row) => row.querySelector("form");

// The cursor never goes on into a row that was refused: the next cup's number must not land in another one's field.
function nextWaiting(row) {
  const rows = [...table.tBodies[0].rows];
  const at = rows.indexOf(row);
  return [...rows.slice(at + 1), ...rows.slice(0, at)].find((other) => waiting(other) && !other.hasAttribute("data-dirty"));
}

function holdStill(row, on) {
  row.toggleAttribute("aria-busy", on);
  for (const field of row.querySelectorAll("input:not([type=hidden])")) field.readOnly = on;
  row.querySelector("button").disabled = on;
}

function trouble(row, words) {
  holdStill(row, false);
  row.setAttribute("data-dirty", "");
  row.setAttribute("data-trouble-here", "");
  const place = row.querySelector("[data-trouble]");
  place.textContent = words;
  place.hidden = false;
  say(words);
}

function parsed(text) {
  const holder = document.createElement("template");
  holder.innerHTML = text.trim();
  return holder.content.querySelector("tr[data-row]");
}

async function ask(url, options) {
  const answer = await fetch(url, { ...options, headers: { "HX-Request": "true" }, credentials: "same-origin" });
  if (answer.headers.get("HX-Redirect") || answer.redirected) throw new Error("signed out");
  return answer;
}

// Signing in again makes the page's tokens old: the page itself is asked for a new one.
async function renewTokens() {
  const text = await (await ask(location.pathname, {})).text();
  const fresh = new DOMParser().parseFromString(text, "text/html").querySelector("[name=csrfmiddlewaretoken]");
  if (!fresh) throw new Error("signed out");
  for (const field of document.querySelectorAll("[name=csrfmiddlewaretoken]")) field.value = fresh.value;
}

// The network is away: the entry waits on this computer, and its words are the answer.
async function rowOf(answer) {
  if (answer.status === 202 && answer.headers.get("X-Isohume-Kept")) return answer.text();
  if (![200, 422].includes(answer.status)) throw new Error(String(answer.status));
  const row = parsed(await answer.text());
  if (!row) throw new Error("no row");
  row.toggleAttribute("data-refused", answer.status === 422);
  return row;
}

async function send(form) {
  document.dispatchEvent(new Event("isohume:sent"));
  const answer = await ask(form.action, { method: "POST", body: new FormData(form) });
  if (answer.status !== 403) return rowOf(answer);
  await renewTokens();
  return rowOf(await ask(form.action, { method: "POST", body: new FormData(form) }));
}

function wordsFor(error) {
  if (["signed out", "403"].includes(error.message)) return "Not saved: you are signed out or the screen is locked. Sign in in another window, then press Enter here again.";
  return "Not saved: the server did not answer. What you typed is kept; press Enter here to send it again.";
}

async function save(row) {
  if (row.hasAttribute("aria-busy")) return;
  holdStill(row, true);
  const next = nextWaiting(row);
  if (next) goTo(startOf(next));
  try {
    const answer = await send(formOf(row));
    if (typeof answer === "string") {
      keptHere(row, answer);
      say(`Kept on this computer: ${answer}.`);
      count();
      return;
    }
    const within = row.contains(document.activeElement);
    row.replaceWith(answer);
    say(answer.hasAttribute("data-refused") ? `Not saved: ${answer.querySelector("th").textContent.trim()}.` : (answer.querySelector("[data-said]")?.textContent ?? "Saved."));
    if (within) (answer.querySelector("[aria-invalid]") ?? fieldsOf(answer)[0] ?? answer.querySelector("a"))?.focus();
  } catch (error) {
    trouble(row, wordsFor(error));
  }
  count();
}

function count() {
  const rows = [...table.tBodies[0].rows];
  const saved = rows.filter((row) => row.matches("[data-saved]")).length;
  const refused = rows.filter((row) => row.matches("[data-refused], [data-trouble-here]")).length;
  const place = document.querySelector("[data-count]");
  if (place) place.textContent = `${rows.filter(waiting).length} wait, ${saved} saved here${refused ? `, ${refused} not saved` : ""}.`;
}

// A code leads to its row; a cup that is not in the grid any more (it was read before) joins it on top.
async function bring(code) {
  const read = CODE.exec(code);
  if (!read) return false;
  const there = document.querySelector(`[data-code="${code.toLowerCase()}"]:not([data-saved])`);
  if (there) {
    goTo(startOf(there));
    return true;
  }
  const from = document.querySelector("form[data-bring]");
  try {
    const row = await rowOf(await ask(`${from.dataset.bring}${read[1]}/`, {}));
    document.getElementById(row.id)?.remove();
    table.tBodies[0].prepend(row);
    setOnce();
    goTo(startOf(row));
    return true;
  } catch (error) {
    say(`${code}: there is no such cup.`);
    return false;
  }
}

// A code that came into a cell too slowly for a scanner (or was typed there) is no number: it leads to its row.
function codeInCell(event) {
  const field = event.target;
  if (event.key !== "Enter" || !(field instanceof HTMLInputElement) || !CODE.test(field.value.trim())) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const code = field.value.trim();
  put(field, field.defaultValue);
  bring(code);
}

// What is set on top holds for every row that is still to be sent.
function setOnce() {
  for (const name of ["instrument", "block_temperature_c"]) {
    const chosen = document.querySelector(`form[data-settings] [name="${name}"]`);
    if (chosen) for (const hidden of table.querySelectorAll(`input[type=hidden][name="${name}"]`)) hidden.value = chosen.value;
  }
}

if (table) {
  table.addEventListener("submit", (event) => {
    event.preventDefault();
    save(event.target.closest("tr[data-row]"));
  });
  document.querySelector("form[data-settings]")?.addEventListener("change", setOnce);
  const scanned = document.querySelector("form[data-bring]");
  scanned?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const field = scanned.elements.scan;
    if (await bring(field.value.trim())) field.value = "";
    else scanned.submit();
  });
  table.addEventListener("keydown", codeInCell, true);
  window.addEventListener("beforeunload", (event) => {
    if (table.querySelector("tr[aria-busy]")) event.preventDefault();
  });
  setOnce();
  count();
}
