// Starting, accepting, voiding: sent without leaving the page, and answered where the button is.
import { fieldsOf, goTo, say } from "../look/fields.js";

function paragraph(words, bad) {
  const made = document.createElement("p");
  made.className = bad ? "error" : "bay-done";
  made.textContent = words;
  return made;
}

const CALLED = { of: "cup or bottle", a_w: "a_w" };

function answer(place, found) {
  const named = Object.entries(found.errors ?? {}).map(([field, words]) => `${CALLED[field] ?? field.replaceAll("_", " ")}: ${words}`);
  const said = found.done ? [found.said] : ["Nothing was saved.", ...(found.reasons ?? []), ...named];
  place.replaceChildren(...said.map((words) => paragraph(words, !found.done)));
  if (found.more && found.done) {
    const link = document.createElement("a");
    link.href = found.more;
    link.textContent = "Look at it";
    place.lastChild.append(" ", link);
  }
  say(said.join(" "));
}

async function ask(form) {
  document.dispatchEvent(new Event("isohume:sent"));
  const sent = await fetch(form.action, { method: "POST", body: new FormData(form), credentials: "same-origin", headers: { Accept: "application/json" } });
  if (!(sent.headers.get("Content-Type") ?? "").startsWith("application/json")) throw new Error(String(sent.status));
  return sent.json();
}

async function send(form, place) {
  const button = form.querySelector("button[type=submit]");
  if (form.hasAttribute("aria-busy")) return null;
  form.setAttribute("aria-busy", "true");
  place.replaceChildren(); // an answer that still stands from before would be taken for this one's
  try {
    const found = await ask(form);
    answer(place, found);
    return found;
  } catch (error) {
    answer(place, { done: false, reasons: ["The server did not take it: you may be signed out or the screen locked. Sign in in another window and send it again."] });
    return null;
  } finally {
    form.removeAttribute("aria-busy");
    if (button && document.activeElement === document.body) button.focus();
  }
}

function emptied(form) {
  for (const field of form.querySelectorAll("input:not([type=hidden]), textarea")) field.value = "";
  for (const field of form.querySelectorAll("select:not([data-scan])")) field.value = "";
  form.querySelector("[data-reasons]")?.removeAttribute("open");
}

async function start(form) {
  const found = await send(form, form.querySelector("[data-answer-here]"));
  if (!found) return;
  if (!found.done) {
    if ((found.reasons ?? []).length || found.errors.reason) form.querySelector("[data-reasons]").open = true;
    return;
  }
  emptied(form);
  const card = document.querySelector(`[data-code-of="${CSS.escape(form.elements.instrument.value)}"]`);
  card?.querySelector("[data-answer-here]").replaceChildren(paragraph(found.said, false));
  card?.focus();
}

function openVoid(card, open) {
  const form = card.querySelector("[data-void]");
  form.hidden = !open;
  if (open) goTo(fieldsOf(form)[0]);
  else card.focus();
}

export function startActs(bays) {
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("[data-start-form], [data-accept], [data-void], [data-notices]")) return;
    event.preventDefault();
    if (form.matches("[data-start-form]")) return void start(form);
    if (form.matches("[data-notices]")) return void send(form, form.querySelector("[data-notices-say]"));
    const card = form.closest("[data-bay]");
    const found = await send(form, card.querySelector("[data-answer-here]"));
    if (!found) return;
    if (form.matches("[data-accept]")) card.querySelector("[data-accept-more]").hidden = found.done;
    if (!found.done) return;
    emptied(form);
    if (form.matches("[data-void]")) openVoid(card, false);
  });
  bays.addEventListener("click", (event) => {
    const card = event.target.closest("[data-bay]");
    if (event.target.closest("[data-void-open]")) openVoid(card, true);
    if (event.target.closest("[data-void-close]")) openVoid(card, false);
  });
  bays.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const form = event.target.closest("[data-void]");
    if (!form) return;
    event.preventDefault();
    openVoid(form.closest("[data-bay]"), false);
  });
}
