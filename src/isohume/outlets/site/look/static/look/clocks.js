// Minutes since a moment, in words; what is said at the limit has its place from the start, so nothing moves.
const EVERY_MS = 5000;

export function minutesSince(iso, now = Date.now()) {
  return Math.max(0, Math.floor((now - Date.parse(iso)) / 60000));
}

export function inWords(minutes) {
  if (minutes < 120) return `${minutes} min`;
  if (minutes < 48 * 60) return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
  return `${Math.floor(minutes / 1440)} days`;
}

function tick() {
  for (const clock of document.querySelectorAll("[data-clock]")) {
    const minutes = minutesSince(clock.dataset.clock);
    if (Number.isNaN(minutes)) continue;
    const run = clock.querySelector(".clock-run");
    const words = inWords(minutes);
    if (run && run.textContent !== words) run.textContent = words;
    if (clock.dataset.limit !== undefined) clock.toggleAttribute("data-reached", minutes >= Number(clock.dataset.limit));
  }
}

export function startClocks() {
  tick();
  setInterval(tick, EVERY_MS);
  document.addEventListener("htmx:afterSwap", tick);
  document.addEventListener("visibilitychange", tick);
}
