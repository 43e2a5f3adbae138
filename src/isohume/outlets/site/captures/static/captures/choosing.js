// Which instrument the keys speak of, and the form that says what its next run is.
import { goTo, isTyping, put } from "../look/fields.js";

const form = () => document.querySelector("[data-start-form]");
let current = null;

const cards = (bays) => [...bays.querySelectorAll("[data-bay]")];

// The letters belong to the buttons of the instrument in focus; keys.js presses whatever carries them.
function choose(card) {
  if (current === card) return;
  for (const [one, on] of [[current, false], [card, true]]) {
    if (!one) continue;
    one.toggleAttribute("data-current", on);
    for (const [key, name] of [["n", "[data-start]"], ["a", "[data-accept-button]"], ["v", "[data-void-open]"]]) {
      const button = one.querySelector(name);
      if (on) button.dataset.key = key;
      else delete button.dataset.key;
      button.toggleAttribute("aria-keyshortcuts", on);
      if (on) button.setAttribute("aria-keyshortcuts", key);
      button.querySelector("kbd").hidden = !on;
    }
  }
  current = card;
}

function step(bays, by) {
  const all = cards(bays);
  const next = all[(all.indexOf(current) + by + all.length) % all.length];
  choose(next);
  next.focus();
  next.scrollIntoView({ block: "nearest" });
}

function openStart(card, runs) {
  const run = runs.get(Number(card.dataset.run));
  const whose = run && run.assigned === "" ? run : null;
  const fields = form().elements;
  fields.instrument.value = card.dataset.codeOf;
  fields.run.value = whose ? String(whose.pk) : "";
  form().querySelector("[data-for]").textContent = whose
    ? `Say what run ${whose.number || whose.pk} on ${whose.instrument} is of, and how you know.`
    : "Say what the next run is of, then start it on the instrument.";
  form().querySelector("[data-reasons]").open = Boolean(whose);
  form().dataset.from = card.id;
  goTo(fields.choice);
}

export function startChoosing(bays, runs) {
  choose(cards(bays)[0]);
  bays.addEventListener("focusin", (event) => choose(event.target.closest("[data-bay]") ?? current));
  bays.addEventListener("click", (event) => {
    const card = event.target.closest("[data-bay]");
    if (!card) return;
    choose(card);
    if (event.target.closest("[data-start]")) openStart(card, runs);
  });
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || document.querySelector("dialog[open]")) return;
    if (isTyping(event.target)) return;
    const arrow = event.target.matches?.("[data-bay]") ? { ArrowDown: 1, ArrowUp: -1 }[event.key] : undefined;
    if (arrow) {
      event.preventDefault();
      step(bays, arrow);
    }
  });
  for (const button of document.querySelectorAll("[data-step]")) {
    button.addEventListener("click", () => step(bays, Number(button.dataset.step)));
  }
  const start = form();
  start?.querySelector("[data-back]").addEventListener("click", () => {
    (document.getElementById(start.dataset.from ?? "") ?? cards(bays)[0]).focus();
  });
  // a scanned instrument is the one in focus; what was open for a run of another one is for the next run again
  start?.elements.instrument.addEventListener("change", () => {
    const card = cards(bays).find((one) => one.dataset.codeOf === start.elements.instrument.value);
    if (card) choose(card);
    start.elements.run.value = "";
    start.querySelector("[data-for]").textContent = "Say what the next run is of, then start it on the instrument.";
  });
  start?.elements.choice.addEventListener("change", () => {
    if (start.elements.choice.value && start.elements.of.value) put(start.elements.of, "");
  });
}
