// Says in the page's head how many entries wait on this computer, and asks the worker to send them when it can.
import "./store.js";

const ASK_EVERY_MS = 15000;

async function open() {
  return (await self.isohumeOutbox.all()).filter((entry) => entry.state !== "kept");
}

function worded(entries) {
  const refused = entries.filter((entry) => entry.state === "refused").length;
  const waits = entries.length - refused;
  const parts = [];
  if (waits) parts.push(waits === 1 ? "1 entry waits on this computer" : `${waits} entries wait on this computer`);
  if (refused) parts.push(refused === 1 ? "1 entry was refused" : `${refused} entries were refused`);
  return parts.join("; ");
}

async function show(place) {
  const entries = await open();
  place.hidden = !entries.length;
  place.querySelector("a").textContent = worded(entries);
  markRows(entries);
  return entries.length;
}

// A row whose entry waits takes nothing more: it says where its number is.
function markRows(entries) {
  for (const entry of entries) {
    const row = document.querySelector(`form[action="${CSS.escape(entry.path)}"]`)?.closest("tr[data-row]:not([data-saved])");
    if (row) keptHere(row, entry.words);
  }
}

export function keptHere(row, words) {
  row.setAttribute("data-saved", "");
  row.setAttribute("data-kept-here", "");
  row.removeAttribute("data-dirty");
  row.removeAttribute("aria-busy");
  for (const field of row.querySelectorAll("input:not([type=hidden]), button")) field.disabled = true;
  const place = row.querySelector("[data-trouble]") ?? row.cells[row.cells.length - 1];
  place.classList.remove("error");
  place.hidden = false;
  place.textContent = `Kept on this computer: ${words}. It is sent when the network is back.`;
}

function sayWhenSeen() {
  const seen = document.querySelector("meta[name=isohume-seen]")?.content;
  const place = document.getElementById("seen");
  if (!seen || !place) return;
  place.hidden = false;
  place.textContent = `The network is away. This page is as it was at ${new Date(seen).toTimeString().slice(0, 5)}; what you enter waits on this computer.`;
}

export async function startOutbox() {
  const place = document.getElementById("outbox");
  if (!place || !navigator.serviceWorker || !self.indexedDB) return;
  sayWhenSeen();
  try {
    await navigator.serviceWorker.register("/outbox-worker.js");
  } catch (refused) {
    return; // a browser that allows no worker: what is typed then stays in its row until the server answers
  }
  const send = () => navigator.serviceWorker.controller?.postMessage("send");
  navigator.serviceWorker.addEventListener("message", () => show(place));
  window.addEventListener("online", send);
  document.querySelector("form[action$='/sign-out/']")?.addEventListener("submit", () => navigator.serviceWorker.controller?.postMessage("forget pages"));
  if (await show(place)) send();
  setInterval(async () => {
    if ((await open()).some((entry) => entry.state === "waits")) send();
  }, ASK_EVERY_MS);
}
