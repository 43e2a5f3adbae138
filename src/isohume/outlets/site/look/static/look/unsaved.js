// Marks rows and forms that hold something typed and not sent, and asks before the page is left with it.
import { fieldsOf, isChanged, put } from "./fields.js";

const KEPT = "isohume-typed";
let leaving = false;

const guarded = (element) => element.closest?.("[data-guard] [data-row], [data-guard]");

function mark(event) {
  const place = guarded(event.target);
  if (place) place.toggleAttribute("data-dirty", fieldsOf(place).some(isChanged));
}

function clear(place) {
  for (const one of [place, ...place.querySelectorAll("[data-dirty]")]) one.removeAttribute("data-dirty");
}

// Before an idle lock: what was typed waits in this tab for the same person on the same page.
export function keepTyped() {
  leaving = true;
  const typed = [...new Set([...document.querySelectorAll("[data-guard], form[data-enter]")].flatMap(fieldsOf))]
    .filter((field) => field.name && isChanged(field) && !field.matches("[type=password], [type=file], [type=checkbox], [type=radio]"))
    .map((field) => [field.id, field.value]);
  try {
    if (typed.length) sessionStorage.setItem(KEPT, JSON.stringify({ path: location.pathname, person: document.body.dataset.person, typed }));
  } catch (refused) {
    // without storage it is lost, as the lock page says
  }
}

function bringBack() {
  let kept = null;
  try {
    kept = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
    if (kept && kept.path === location.pathname) sessionStorage.removeItem(KEPT);
  } catch (refused) {
    return;
  }
  if (!kept || kept.path !== location.pathname || kept.person !== document.body.dataset.person) return;
  for (const [id, value] of kept.typed) {
    const field = document.getElementById(id);
    if (field && !field.readOnly) put(field, value);
  }
}

export function startUnsaved() {
  document.addEventListener("input", mark);
  document.addEventListener("change", mark);
  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    clear(event.target);
    if (!event.target.closest("[data-guard]")) leaving = false;
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail?.successful && event.detail.requestConfig?.verb !== "get") {
      const place = guarded(event.target);
      if (place) clear(place);
    }
  });
  window.addEventListener("beforeunload", (event) => {
    if (!leaving && document.querySelector("[data-dirty]")) event.preventDefault();
  });
  bringBack();
}
