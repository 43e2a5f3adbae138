// A scanner types fast and ends with Enter. A code of ours (iso:p:12) goes where it belongs, wherever the focus is,
// and what it typed into the focused field is taken out again.
import { goOn, goTo, put, say, startOf } from "./fields.js";

const KINDS = { p: "portion", s: "sample", b: "bottle", i: "instrument" };
const CODE = /iso:([psbi]):(\d{1,15})$/;
const LONGEST_PAUSE_MS = 1000; // the prefix tells a code from words; a busy computer may make a scanner look slow
const LONGEST_CODE = 24;

let keys = [];

// A scanner presses the keys of a fixed layout; read by key and by place, one of the two is right.
function byPlace(event) {
  if (/^Key[A-Z]$/.test(event.code)) return event.code[3].toLowerCase();
  if (/^(Digit|Numpad)\d$/.test(event.code)) return event.code.at(-1);
  if (event.code === "Semicolon" && event.shiftKey) return ":";
  return event.key.length === 1 ? event.key : "";
}

// Each key is kept with the field as it was before it, so that exactly the code can be taken out again.
function remember(event) {
  if (keys.length && event.timeStamp - keys.at(-1).at > LONGEST_PAUSE_MS) keys = [];
  const field = event.target;
  const before = field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement ? { field, text: field.value } : null;
  keys.push({ at: event.timeStamp, key: event.key, place: byPlace(event), before });
  if (keys.length > LONGEST_CODE) keys.shift();
}

function readCode(at) {
  if (!keys.length || at - keys.at(-1).at > LONGEST_PAUSE_MS) return null;
  return CODE.exec(keys.map((k) => k.key).join("").toLowerCase()) ?? CODE.exec(keys.map((k) => k.place || "?").join(""));
}

function takeOut(code) {
  const before = keys.at(-code.length)?.before;
  if (!before || before.field.value === before.text) return;
  before.field.value = before.text;
  before.field.dispatchEvent(new Event("input", { bubbles: true }));
}

// A field in a closed part of the page can be reached, by opening that part.
const reachable = (field) => field.checkVisibility() || Boolean(field.closest("details:not([open])"));

function opened(field) {
  for (let part; (part = field.closest("details:not([open])")); ) part.open = true;
}

function land(code, kind) {
  // the row of a cup that was saved takes nothing more: the code then asks for a re-read
  const row = document.querySelector(`[data-code="${code}"]:not([data-saved])`);
  if (row) {
    goTo(startOf(row) ?? row);
    say(`Scanned ${code}: its row.`);
    return;
  }
  const wanted = [...document.querySelectorAll(`[data-scan~="${kind}"]`)].filter((f) => !f.disabled && reachable(f));
  const field = wanted.find((f) => f === document.activeElement) ?? wanted.find((f) => !f.value) ?? wanted[0];
  if (!field) {
    location.assign(`${document.body.dataset.scanPage ?? "/scan/"}?code=${encodeURIComponent(code)}`);
    return;
  }
  opened(field);
  field.focus();
  put(field, code);
  say(`Scanned ${code}.`);
  goOn(field);
}

export function startScanner() {
  document.addEventListener("keydown", (event) => {
    if (event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key !== "Enter" && event.key !== "Tab") {
      if (event.key.length === 1) remember(event);
      return;
    }
    const read = readCode(event.timeStamp);
    if (read) takeOut(read[0]);
    keys = [];
    if (!read) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    land(read[0], KINDS[read[1]]);
  }, true);
}
