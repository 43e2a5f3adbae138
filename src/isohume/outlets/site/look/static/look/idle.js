// Locks the screen of somebody who went away; what was typed and not sent comes back after unlocking.
import { keepTyped } from "./unsaved.js";

const LOOK_EVERY_MS = 5000;
const BEAT_EVERY_MS = 60000;
const ACTIVE = "isohume-active";

let lastHere = Date.now();
let lastBeat = Date.now();

// Another tab of the same person counts as being here.
function lastActive() {
  try {
    return Math.max(lastHere, Number(localStorage.getItem(ACTIVE)) || 0);
  } catch (refused) {
    return lastHere;
  }
}

function here(form) {
  lastHere = Date.now();
  if (lastHere - lastBeat < BEAT_EVERY_MS) return;
  lastBeat = lastHere;
  try {
    localStorage.setItem(ACTIVE, String(lastHere));
  } catch (refused) {
    // each tab then counts for itself
  }
  // the server counts too: somebody who types for long must not lose the page when it is sent
  fetch(form.action, { method: "HEAD", credentials: "same-origin" }).catch(() => {});
}

export function startIdle() {
  const minutes = Number(document.body.dataset.idleMinutes);
  const form = document.getElementById("lock-form");
  if (!minutes || !form) return;
  for (const kind of ["keydown", "pointerdown", "wheel", "input"]) {
    document.addEventListener(kind, () => here(form), { capture: true, passive: true });
  }
  const looking = setInterval(() => {
    if (Date.now() - lastActive() < minutes * 60000) return;
    clearInterval(looking);
    keepTyped();
    form.submit();
  }, LOOK_EVERY_MS);
}
