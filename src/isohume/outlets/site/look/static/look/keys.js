// The help key, Escape, the table key, and the keys a page gives to its own acts (data-key="a").
import { isChanged, isTyping } from "./fields.js";

const STORED = "isohume-letter-keys";
const dialog = () => document.getElementById("keys");

function lettersAllowed() {
  try {
    return localStorage.getItem(STORED) !== "off";
  } catch (refused) {
    return true;
  }
}

function openKeys() {
  const box = dialog();
  if (!box || box.open) return;
  const letters = box.querySelector("[data-letter-keys]");
  if (letters) letters.checked = lettersAllowed();
  box.showModal();
}

function toggleTables() {
  const drawn = [...document.querySelectorAll("[data-drawn]")];
  const asTable = !drawn.some((one) => "asTable" in one.dataset);
  for (const one of drawn) {
    one.toggleAttribute("data-as-table", asTable);
    const table = one.querySelector(".drawn-table");
    if (table) table.open = asTable;
  }
}

function escape() {
  const menu = document.querySelector("details[data-menu][open]");
  if (menu) {
    menu.open = false;
    menu.querySelector("summary").focus();
    return;
  }
  const field = document.activeElement;
  if (isTyping(field) && isChanged(field)) return;
  document.querySelector("a[rel=up]")?.click();
}

export function startKeys() {
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
    if (document.querySelector("dialog[open]")) return;
    if (event.key === "Escape") return escape();
    const typing = isTyping(event.target);
    const maskedField = event.target instanceof HTMLElement && event.target.dataset.mask;
    if (!lettersAllowed() || (typing && !(event.key === "?" && maskedField))) return;
    if (event.key === "?") {
      event.preventDefault();
      openKeys();
    } else if (event.key === "t") toggleTables();
    else if (/^[a-z0-9]$/.test(event.key)) {
      const act = document.querySelector(`[data-key="${event.key}"]`);
      if (!act) return;
      event.preventDefault();
      if (isTyping(act)) act.focus();
      else act.click();
    }
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("[data-keys-open]")) openKeys();
    const menu = document.querySelector("details[data-menu][open]");
    if (menu && !menu.contains(event.target)) menu.open = false;
  });
  document.addEventListener("change", (event) => {
    if (!event.target.matches?.("[data-letter-keys]")) return;
    try {
      localStorage.setItem(STORED, event.target.checked ? "on" : "off");
    } catch (refused) {
      // without storage the letters stay on
    }
  });
}
